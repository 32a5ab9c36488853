//! A QR code as SVG: black on white in every theme, since a camera reads it.

use qrcode::render::svg;
use qrcode::{EcLevel, QrCode};

use crate::error::Result;
use crate::measure::LotCode;

/// What a tag's QR code leads to: the short address that sends on to the lot's page.
pub fn tag_address(site: &str, code: &LotCode) -> String {
    format!("{site}/t/{code}")
}

/// An SVG picture of `text`, with the quiet zone that ISO/IEC 18004 asks for. Medium correction: a tag gets wet.
///
/// # Errors
/// Broken when the text is longer than a QR code holds, which no address of ours is.
pub fn svg(text: &str) -> Result<String> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).map_err(anyhow::Error::from)?;
    let drawn = code
        .render::<svg::Color<'_>>()
        .quiet_zone(true)
        .dark_color(svg::Color("#000"))
        .light_color(svg::Color("#fff"))
        .build();
    // Inside a page the XML declaration would be text.
    let from = drawn.find("<svg").unwrap_or(0);
    Ok(drawn[from..].replacen("<svg", "<svg class=\"qr\" role=\"img\" aria-label=\"QR code of this tag\"", 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tags_code_is_a_picture_without_inline_style() {
        let code = "26329-02.05".parse().expect("a code");
        let picture = svg(&tag_address("https://book.example", &code)).expect("a short address");
        assert!(picture.starts_with("<svg class=\"qr\""), "{}", &picture[..80]);
        assert!(!picture.contains("style="));
    }
}
