//! Papers: what the suppliers sent, and a laboratory's result.

use std::fmt::Write as _;

use anyhow::{Context, Result};

use super::super::teller::Teller;
use super::batches::Made;

/// What was attached on this day.
pub async fn attached(t: &mut Teller, days_ago: i64, batches: &[Made]) -> Result<()> {
    match days_ago {
        68 => letters(t, days_ago).await,
        21 => result(t, days_ago, batches).await,
        _ => Ok(()),
    }
}

async fn letters(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 14, 10)?;
    t.is("petra");
    for (farm, words) in [
        ("Copperholt Farm", "Letter of guarantee on parasite control, March 2026"),
        ("Windlow Farm", "Letter of guarantee on parasite control, June 2026"),
    ] {
        let about = format!("supplier/{}", t.id(&format!("supplier {farm}"))?);
        let name = format!("{farm}.pdf");
        t.attaches(&about, "letter of guarantee", words, &name, &letter(farm, words)?).await?;
    }
    Ok(())
}

/// The laboratory measured a piece of the first salami.
async fn result(t: &mut Teller, days_ago: i64, batches: &[Made]) -> Result<()> {
    t.at(days_ago, 16, 20)?;
    t.is("wilf");
    let salami = batches.iter().find(|made| made.salami).context("a salami was made")?;
    let about = format!("batch/{}", salami.path.rsplit('/').next().unwrap_or_default());
    let table = "sample,found,unit,method\nSalmonella in 25 g,not detected,,ISO 6579-1\n\
                 Listeria monocytogenes in 25 g,not detected,,ISO 11290-1\npH,5.1,,ISO 2917\n";
    let note = "Weir Valley Laboratory, invented; one piece sent";
    t.attaches(&about, "laboratory result", note, "result.csv", table.as_bytes()).await
}

/// A letter of one page (ISO 32000-1), as small as one can be.
fn letter(from: &str, words: &str) -> Result<Vec<u8>> {
    let text = format!("BT /F1 14 Tf 60 760 Td ({from}) Tj 0 -28 Td ({words}) Tj ET");
    let objects = [
        "<< /Type /Catalog /Pages 2 0 R >>".to_owned(),
        "<< /Type /Pages /Kids [3 0 R] /Count 1 >>".to_owned(),
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 4 0 R \
         /Resources << /Font << /F1 5 0 R >> >> >>"
            .to_owned(),
        format!("<< /Length {} >>\nstream\n{text}\nendstream", text.len()),
        "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>".to_owned(),
    ];
    let mut file = String::from("%PDF-1.4\n");
    let mut places = Vec::new();
    for (n, object) in (1..).zip(&objects) {
        places.push(file.len());
        writeln!(file, "{n} 0 obj\n{object}\nendobj")?;
    }
    let table = file.len();
    file.push_str("xref\n0 6\n0000000000 65535 f \n");
    for place in places {
        writeln!(file, "{place:010} 00000 n ")?;
    }
    writeln!(file, "trailer\n<< /Size 6 /Root 1 0 R >>\nstartxref\n{table}\n%%EOF")?;
    Ok(file.into_bytes())
}
