//! The first evening: the shop, its people, suppliers, recipes and limits.

use anyhow::Result;

use super::super::teller::Teller;
use super::super::{DAYS, WHILE_TOLD};
use super::{instruments, recipes, release};

/// Who signs in to look around.
pub const OWNER: &str = "petra";

/// Name, sign-in, initials, role.
const PEOPLE: [(&str, &str, &str, &str); 4] = [
    ("Dunstan Okafor", "dunstan", "DO", "cutter"),
    ("Ines Marchetti", "ines", "IM", "curer"),
    ("Wilf Tran", "wilf", "WT", "reviewer"),
    ("Greta Lindqvist", "greta", "GL", "inspector"),
];

/// Name, address, number, contact, papers.
const SUPPLIERS: [(&str, &str, &str, &str, &str); 5] = [
    (
        "Copperholt Farm",
        "Copperholt\nNear Larkmoor",
        "UK LM 301",
        "Una Brandreth, 01632 960114",
        "Letter of guarantee on parasite control, March 2026",
    ),
    (
        "Windlow Farm",
        "Windlow Bottom\nHethersgate",
        "UK HG 118",
        "Aled Pryce, 01632 960187",
        "Letter of guarantee on parasite control, June 2026",
    ),
    (
        "Marshgate Meats",
        "Unit 4, Marshgate\nHethersgate",
        "UK HG 022",
        "Orders desk, 01632 960150",
        "Cutting plant approval",
    ),
    (
        "Harrow & Pell Dry Goods",
        "18 Sacking Lane\nLarkmoor",
        "",
        "Pell, 01632 960139",
        "Specification sheets of all cures",
    ),
    (
        "Fairlight Casings",
        "The Gut House\nFairlight Quay",
        "UK FQ 007",
        "Tilda, 01632 960166",
        "Health certificates by lot",
    ),
];

/// Name, address, contact.
const CUSTOMERS: [(&str, &str, &str); 3] = [
    ("The Lantern Rooms", "1 Lock Hill\nLarkmoor", "Kitchen, 01632 960121"),
    ("Fennick's Deli", "44 Bell Street\nHethersgate", "Mr Fennick, 01632 960175"),
    ("Station Street Grocer", "9 Station Street\nLarkmoor", "Counter, 01632 960108"),
];

pub async fn open_the_book(t: &mut Teller) -> Result<()> {
    t.at(DAYS, 17, 30)?;
    let shop = [
        ("shop", "Larkmoor Butchers"),
        ("address", "2 Weir Street\nLarkmoor"),
        ("number", "UK LM 027"),
        ("system", "metric"),
        ("zone", "Europe/London"),
        ("currency", "GBP"),
        ("small_division", "0.1 g"),
        ("large_division", "5 g"),
        ("name", "Petra Holloway"),
        ("initials", "PH"),
        ("sign_in", OWNER),
        ("password", WHILE_TOLD),
        ("usual", "yes"),
    ];
    t.signs("/start", &shop).await?;
    t.signs_in(OWNER, WHILE_TOLD).await?;
    for (name, sign_in, initials, role) in PEOPLE {
        let person = [
            ("name", name),
            ("sign_in", sign_in),
            ("initials", initials),
            ("roles", role),
            ("password", WHILE_TOLD),
        ];
        t.signs("/setup/people", &person).await?;
    }
    for (name, measures) in [
        ("block scale", "weight"),
        ("small scale", "weight"),
        ("hanging scale", "weight"),
        ("probe 1", "temperature"),
        ("chamber sensor", "humidity"),
        ("pH meter", "ph"),
        ("water activity meter", "water activity"),
    ] {
        let every = instruments::EVERY.iter().find(|(of, _)| *of == name).map_or("", |(_, days)| days);
        let one = [("name", name), ("measures", measures), ("calibrate_every", every)];
        t.signs("/setup/instruments", &one).await?;
    }
    suppliers_and_customers(t).await?;
    t.signs("/checks/limits/usual", &[]).await?;
    curing_limits(t).await?;
    t.looks_around().await?;
    chamber_limits(t).await?;
    let rule = [
        ("rules", "canada"),
        ("method", "formula"),
        ("edge", "at most"),
        // The cabinet is read before and after work.
        ("largest_gap", "13"),
        ("source", "Our plan of August, written with the process authority"),
    ];
    t.signs("/fermenting/rule", &rule).await?;
    recipes::write(t).await?;
    release::place_products(t).await?;
    for (_, sign_in, _, _) in PEOPLE {
        t.signs_in(sign_in, WHILE_TOLD).await?;
    }
    t.looks_around().await
}

/// The shop is held to Great Britain's limit on nitrite, which it has read in its text.
async fn curing_limits(t: &Teller) -> Result<()> {
    t.signs("/limits", &[("jurisdiction", "Great Britain")]).await?;
    let confirmed = [
        ("on", "yes"),
        ("document", "Annex II, category 08.3, read with the environmental health officer"),
        ("reason", "her visit of the first week"),
    ];
    t.signs("/limits/rows/gb-nitrite", &confirmed).await?;
    Ok(())
}

/// The usual limits of chambers are for drying; the fermenting cabinet is meant to be warmer.
async fn chamber_limits(t: &Teller) -> Result<()> {
    let applies = format!("place:{}", t.id("place chamber 1")?);
    for (usual, name, quantity, least, most) in [
        ("Chambers, temperature", "Chamber 1, temperature", "temperature", "10", "16"),
        ("Chambers, humidity", "Chamber 1, humidity", "humidity", "65", "85"),
    ] {
        let path = format!("/checks/limits/{}", t.id(&format!("limit {usual}"))?);
        let limit = [
            ("name", name),
            ("quantity", quantity),
            ("applies", applies.as_str()),
            ("least", least),
            ("most", most),
            ("source", "Our own plan for drying, written with the process authority in August"),
        ];
        t.signs(&path, &limit).await?;
    }
    Ok(())
}

async fn suppliers_and_customers(t: &mut Teller) -> Result<()> {
    let approved = crate::measure::input_day(t.day(-200));
    for (name, address, number, contact, papers) in SUPPLIERS {
        let supplier = [
            ("name", name),
            ("address", address),
            ("number", number),
            ("contact", contact),
            ("papers", papers),
            ("approved_until", approved.as_str()),
        ];
        t.signs("/receiving/suppliers", &supplier).await?;
    }
    for (name, address, contact) in CUSTOMERS {
        t.signs("/dispatch/customers", &[("name", name), ("address", address), ("contact", contact)]).await?;
    }
    Ok(())
}
