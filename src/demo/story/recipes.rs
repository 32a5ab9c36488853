//! Seven recipes of the shop's own.

use anyhow::Result;

use super::super::teller::Teller;

/// Role, thing, per cent of the meat.
pub type Line = (&'static str, &'static str, &'static str);

pub struct Recipe {
    pub name: &'static str,
    kind: &'static str,
    product: &'static str,
    target_loss: &'static str,
    pub lines: &'static [Line],
    /// Stage and days.
    pub steps: &'static [(&'static str, &'static str)],
}

const DRY: &str = "dry cure, equilibrium";
const GROUND: &str = "ground and fermented";

pub const COPPA: Recipe = Recipe {
    name: "Coppa, juniper",
    kind: DRY,
    product: "coppa",
    target_loss: "32",
    lines: &[
        ("meat", "pork collar", "100"),
        ("salt", "sea salt", "2.55"),
        ("cure", "cure, long (nitrite and nitrate)", "0.23"),
        ("sugar", "cane sugar", "0.5"),
        ("spice", "black pepper, cracked", "0.3"),
        ("spice", "juniper berries", "0.1"),
    ],
    steps: &[("curing", "12"), ("resting", "2"), ("drying", "56")],
};

pub const LOIN: Recipe = Recipe {
    name: "Loin, fennel",
    kind: DRY,
    product: "cured loin",
    target_loss: "35",
    lines: &[
        ("meat", "pork loin eye", "100"),
        ("salt", "sea salt", "2.5"),
        ("cure", "cure, short (nitrite)", "0.23"),
        ("sugar", "cane sugar", "0.6"),
        ("spice", "fennel seed", "0.25"),
    ],
    steps: &[("curing", "10"), ("drying", "42")],
};

pub const PANCETTA: Recipe = Recipe {
    name: "Pancetta, black pepper",
    kind: DRY,
    product: "pancetta",
    target_loss: "25",
    lines: &[
        ("meat", "pork belly", "100"),
        ("salt", "sea salt", "2.4"),
        ("cure", "cure, short (nitrite)", "0.23"),
        ("sugar", "cane sugar", "0.8"),
        ("spice", "black pepper, cracked", "0.6"),
        ("spice", "bay leaf", "0.05"),
    ],
    steps: &[("curing", "9"), ("drying", "35")],
};

pub const GUANCIALE: Recipe = Recipe {
    name: "Guanciale",
    kind: DRY,
    product: "guanciale",
    target_loss: "25",
    lines: &[
        ("meat", "pork jowl", "100"),
        ("salt", "sea salt", "2.6"),
        ("cure", "cure, short (nitrite)", "0.23"),
        ("spice", "black pepper, cracked", "1"),
        ("spice", "thyme", "0.1"),
    ],
    steps: &[("curing", "7"), ("drying", "42")],
};

pub const BEEF: Recipe = Recipe {
    name: "Air-dried beef",
    kind: DRY,
    product: "air-dried beef",
    target_loss: "38",
    lines: &[
        ("meat", "beef eye of round", "100"),
        ("salt", "sea salt", "2.6"),
        ("cure", "cure, long (nitrite and nitrate)", "0.23"),
        ("sugar", "cane sugar", "0.8"),
        ("spice", "juniper berries", "0.15"),
        ("spice", "black pepper, cracked", "0.4"),
    ],
    steps: &[("curing", "14"), ("drying", "49")],
};

pub const SALAMI: Recipe = Recipe {
    name: "House salami",
    kind: GROUND,
    product: "dry salami",
    target_loss: "34",
    lines: &[
        ("meat", "pork trim 90/10", "78"),
        ("fat", "pork back fat", "22"),
        ("salt", "sea salt", "2.45"),
        ("cure", "cure, long (nitrite and nitrate)", "0.23"),
        ("sugar", "dextrose", "0.4"),
        ("spice", "black pepper, cracked", "0.3"),
        ("culture", "starter culture", "0.03"),
    ],
    steps: &[("fermenting", "3"), ("drying", "42")],
};

pub const FENNEL_SALAMI: Recipe = Recipe {
    name: "Fennel salami",
    kind: GROUND,
    product: "dry salami, fennel",
    target_loss: "34",
    lines: &[
        ("meat", "pork trim 90/10", "76"),
        ("fat", "pork back fat", "24"),
        ("salt", "sea salt", "2.5"),
        ("cure", "cure, long (nitrite and nitrate)", "0.23"),
        ("sugar", "dextrose", "0.4"),
        ("spice", "fennel seed", "0.35"),
        ("culture", "starter culture", "0.03"),
    ],
    steps: &[("fermenting", "3"), ("drying", "42")],
};

const ALL: [&Recipe; 7] = [&COPPA, &LOIN, &PANCETTA, &GUANCIALE, &BEEF, &SALAMI, &FENNEL_SALAMI];

/// How far a line may be off its target, per cent: common practice.
fn tolerance(role: &str) -> &'static str {
    match role {
        "cure" => "1",
        "salt" | "sugar" => "2",
        "culture" => "5",
        _ => "10",
    }
}

pub async fn write(t: &mut Teller) -> Result<()> {
    for recipe in ALL {
        let product = t.id(&format!("item {}", recipe.product))?.to_owned();
        let mut form = vec![
            ("name", recipe.name),
            ("kind", recipe.kind),
            ("product", product.as_str()),
            ("target_loss", recipe.target_loss),
            ("weigh_every", "7"),
        ];
        for (role, item, percent) in recipe.lines {
            let item = t.id(&format!("item {item}"))?;
            form.extend([("role", *role), ("item", item), ("percent", *percent), ("per", "meat")]);
            form.extend([("tolerance", tolerance(role)), ("salt", ""), ("sugar", "")]);
        }
        for (stage, days) in recipe.steps {
            form.extend([("stage", *stage), ("lasts", *days), ("lasts_in", "days"), ("step_note", "")]);
        }
        t.signs("/recipes/new", &form).await?;
    }
    Ok(())
}
