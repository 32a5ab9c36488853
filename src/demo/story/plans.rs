//! The plans, signed before the first batch, and the checks before work of the last week: one that found something, one missed.

use anyhow::Result;

use super::super::teller::Teller;

/// The morning on which the grinder was not clean, and the one on which nobody looked.
const NOT_CLEAN: i64 = 5;
const NOBODY_LOOKED: i64 = 3;
/// When somebody saw what no plan foresees.
const RUST: i64 = 12;
/// When the plan was looked over after the trial recipe, and somebody watched how the pH is measured.
const LOOKED_OVER: i64 = 4;
/// Since when the programmes are signed.
const PROGRAMMES: i64 = 7;

/// On the first evening, the plans of what the shop is going to make.
pub async fn sign(t: &Teller) -> Result<()> {
    for key in ["whole-muscle-dry-cure", "fermented-dry-sausage"] {
        take_up(t, key, "For the first time, gone through with the process authority in August.").await?;
    }
    Ok(())
}

async fn take_up(t: &Teller, key: &str, reason: &str) -> Result<()> {
    let plan = t.signs("/plan", &[("from", key)]).await?;
    t.signs(&plan, &[("reason", reason)]).await?;
    Ok(())
}

/// Before work: is everything clean?
pub async fn before_work(t: &mut Teller, days_ago: i64) -> Result<()> {
    if days_ago == RUST {
        return rust_found(t, days_ago).await;
    }
    if days_ago > PROGRAMMES || days_ago == NOBODY_LOOKED {
        return Ok(());
    }
    t.at(days_ago, 6, 0)?;
    if days_ago == PROGRAMMES {
        t.is("petra");
        for key in ["cold-storage", "sanitation-before-work", "pests"] {
            take_up(t, key, "For the first time, after the inspector's visit.").await?;
        }
    }
    if days_ago == LOOKED_OVER {
        look_over(t).await?;
    }
    t.is("dunstan");
    let before = t.deviation().await?;
    answer(t, days_ago == NOT_CLEAN).await?;
    strength(t).await?;
    let opened = t.deviation().await?;
    if opened == before { Ok(()) } else { correct(t, days_ago, &opened).await }
}

async fn look_over(t: &mut Teller) -> Result<()> {
    t.looks_around().await?;
    let plan = format!("/plan/{}", t.id("plan Fermented dry sausage")?);
    let check = t.planned("pH at the end of fermenting").await?;
    let who = t.id("person Ines Marchetti")?.to_owned();
    t.is("wilf");
    let seen = [
        ("check", check.as_str()),
        ("who", who.as_str()),
        ("in_order", "yes"),
        ("words", "Two buffers first, three sausages, the highest written down."),
    ];
    t.signs(&format!("{plan}/observation"), &seen).await?;
    t.is("petra");
    let reason = "The recipes and limits written since August: the same method and the same limits, so the plan stays.";
    t.signs(&format!("{plan}/reassessment"), &[("reason", reason)]).await?;
    Ok(())
}

/// The question as its page asks it.
async fn answer(t: &Teller, found: bool) -> Result<()> {
    let block = t.id("place block")?;
    let check = t.planned("Clean before work").await?;
    let mut form = vec![("check", check.as_str()), ("on", block)];
    for n in 0..6 {
        let dirty = found && n == 2;
        form.push(("item", if dirty { "no" } else { "yes" }));
        form.push((
            "words",
            if dirty {
                "Fat behind the plate of the grinder; taken apart, washed, sanitized, clean now"
            } else {
                ""
            },
        ));
    }
    t.signs("/plan/answer", &form).await?;
    Ok(())
}

async fn strength(t: &Teller) -> Result<()> {
    let form =
        [("place", t.id("place block")?), ("quantity", "chlorine"), ("value", "100"), ("instrument", "")];
    t.signs("/checks/record", &form).await?;
    Ok(())
}

async fn rust_found(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 6, 20)?;
    t.is("dunstan");
    let form = [
        ("code", ""),
        ("place", t.id("place chamber 1, rail C")?),
        ("what", "Rust flaking from the hooks of rail C"),
        ("foreseen", "no"),
    ];
    let deviation = t.signs("/checks/deviations/new", &form).await?;
    let done = [
        ("cause", "Rail C set apart; nothing was taken from it."),
        (
            "control",
            "Petra and Dunstan looked at every piece by hand lamp: flakes at the strings only, none on meat.",
        ),
        (
            "product",
            "Strings changed, the top of each piece wiped with brine; weighed and hung on new hooks.",
        ),
        (
            "prevent",
            "Reassessed: hooks are looked at with the weigh-in from now on; the plan names them at the next signing.",
        ),
    ];
    close(t, days_ago, &deviation, &done, "Nothing touched meat.").await
}

async fn correct(t: &mut Teller, days_ago: i64, deviation: &str) -> Result<()> {
    let done = if days_ago == NOT_CLEAN {
        [
            (
                "cause",
                "The plate was put back wet after the last mince and not looked behind. Taken apart and washed.",
            ),
            ("control", "Looked at again with a torch at 06:40: clean and dry."),
            ("prevent", "The plate now dries on the rack overnight; the list says \"plate off\"."),
            ("product", "Nothing was minced since; no meat had touched it."),
        ]
    } else {
        [
            ("cause", "Ines was alone that morning and began with the weigh-ins. Looked at on the next."),
            ("control", "Clean on all six points this morning."),
            ("prevent", "Who opens the door makes the check; its name hangs on the door."),
            ("product", "Only pieces were weighed on their hooks that day; nothing touched the block."),
        ]
    };
    close(t, days_ago, deviation, &done, "No meat was concerned.").await
}

/// What was done is written at ten to seven; at half past the reviewer decides.
async fn close(
    t: &mut Teller,
    days_ago: i64,
    deviation: &str,
    done: &[(&str, &str)],
    words: &str,
) -> Result<()> {
    t.at(days_ago, 6, 50)?;
    t.signs(&format!("{deviation}/corrective-action"), done).await?;
    t.at(days_ago, 7, 30)?;
    t.is("wilf");
    let lots = t.hidden(deviation, "lot").await?;
    let mut decided = vec![("every", "lift the hold"), ("words", words)];
    for lot in &lots {
        decided.extend([("lot", lot.as_str()), ("decision", "")]);
    }
    t.signs(&format!("{deviation}/decision"), &decided).await?;
    Ok(())
}
