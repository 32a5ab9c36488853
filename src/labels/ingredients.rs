//! The list of ingredients, from what was really weighed.
//!
//! Regulation (EU) No 1169/2011, art. 18(1): all ingredients in descending order of weight, as recorded at the time of
//! their use; art. 21(1)(b): substances of annex II stand out from the rest of the list. 9 CFR 317.2(c)(2) and (f): common
//! names in descending order. Both let what is under 2 % stand in any order at the end; we keep the order there too.

use crate::measure::Grams;

/// Something that went in, as often as it was weighed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Used {
    /// What the label calls it. A compound names its parts: "curing salt (salt, sodium nitrite)".
    pub name: String,
    pub grams: Grams,
    pub allergens: Vec<String>,
}

/// A run of the list's text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Span {
    pub text: String,
    /// An allergen.
    pub strong: bool,
}

/// The ingredients by descending weight; what has no weight of its own (a casing that was not weighed) comes last, and
/// what weighs the same stands by name.
pub fn in_order(used: &[Used]) -> Vec<Used> {
    let mut list: Vec<Used> = Vec::new();
    for one in used {
        match list.iter_mut().find(|known| known.name.to_lowercase() == one.name.to_lowercase()) {
            Some(known) => {
                known.grams += one.grams;
                known.allergens.extend(one.allergens.iter().cloned());
            }
            None => list.push(one.clone()),
        }
    }
    list.sort_by(|a, b| {
        b.grams.cmp(&a.grams).then_with(|| a.name.to_lowercase().cmp(&b.name.to_lowercase()))
    });
    list
}

/// The list as it is printed: "pork, salt, skimmed **milk** powder."
pub fn statement(used: &[Used]) -> Vec<Span> {
    let mut spans: Vec<Span> = Vec::new();
    for (n, one) in in_order(used).iter().enumerate() {
        if n > 0 {
            spans.push(plain(", "));
        }
        spans.extend(emphasised(&one.name, &one.allergens));
    }
    if !spans.is_empty() {
        spans.push(plain("."));
    }
    joined(spans)
}

/// What is used of each ingredient when a part of the cure was thrown away instead of laid on: its share of it.
pub fn laid_on(grams: Grams, applied: Grams, left_over: Grams) -> Grams {
    let whole = applied + left_over;
    if whole.is_zero() || left_over.is_zero() {
        return grams;
    }
    grams.times(applied.decimal() / whole.decimal())
}

/// The name with its allergens standing out: where the name says the allergen, there; otherwise in brackets after it.
fn emphasised(name: &str, allergens: &[String]) -> Vec<Span> {
    let mut spans = vec![plain(name)];
    let mut unnamed: Vec<&str> = Vec::new();
    for allergen in allergens.iter().map(|word| word.trim()).filter(|word| !word.is_empty()) {
        let known = spans.iter().position(|span| find(&span.text, allergen).is_some());
        match known {
            Some(at) if spans[at].strong => {}
            Some(at) => {
                let parts = cut_out(&spans[at].text, allergen);
                spans.splice(at..=at, parts);
            }
            None if unnamed.iter().any(|word| word.to_lowercase() == allergen.to_lowercase()) => {}
            None => unnamed.push(allergen),
        }
    }
    for (n, word) in unnamed.iter().enumerate() {
        spans.push(plain(if n == 0 { " (" } else { ", " }));
        spans.push(Span { text: (*word).to_owned(), strong: true });
    }
    if !unnamed.is_empty() {
        spans.push(plain(")"));
    }
    spans
}

fn plain(text: &str) -> Span {
    Span { text: text.to_owned(), strong: false }
}

/// Where `word` begins in `text`, in bytes, whatever their case. Only where both have one length in both cases.
fn find(text: &str, word: &str) -> Option<usize> {
    let (lower, word) = (text.to_lowercase(), word.to_lowercase());
    if lower.len() != text.len() {
        return None;
    }
    lower.find(&word).filter(|at| text.is_char_boundary(*at) && text.is_char_boundary(at + word.len()))
}

fn cut_out(text: &str, word: &str) -> Vec<Span> {
    let Some(at) = find(text, word) else { return vec![plain(text)] };
    let end = at + word.to_lowercase().len();
    let parts =
        [plain(&text[..at]), Span { text: text[at..end].to_owned(), strong: true }, plain(&text[end..])];
    parts.into_iter().filter(|span| !span.text.is_empty()).collect()
}

/// Neighbours of one weight as one span.
fn joined(spans: Vec<Span>) -> Vec<Span> {
    let mut all: Vec<Span> = Vec::new();
    for span in spans {
        match all.last_mut() {
            Some(last) if last.strong == span.strong => last.text.push_str(&span.text),
            _ => all.push(span),
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn used(name: &str, grams: i64) -> Used {
        Used { name: name.into(), grams: Grams::whole(grams), allergens: vec![] }
    }

    fn text(used: &[Used]) -> String {
        statement(used)
            .iter()
            .map(|span| if span.strong { format!("[{}]", span.text) } else { span.text.clone() })
            .collect()
    }

    #[test]
    fn ingredients_stand_in_descending_order_of_weight() {
        let salami = [
            used("salt", 50),
            used("pepper", 6),
            used("pork", 2_000),
            used("curing salt (salt, sodium nitrite)", 5),
            used("water", 40),
        ];
        assert_eq!(text(&salami), "pork, salt, water, pepper, curing salt (salt, sodium nitrite).");
    }

    #[test]
    fn what_was_weighed_twice_counts_together() {
        let salami = [used("pork", 900), used("beef", 1_000), used("Pork", 200)];
        assert_eq!(text(&salami), "pork, beef.");
    }

    #[test]
    fn what_weighs_the_same_stands_by_name_and_an_unweighed_casing_last() {
        let salami = [used("pork", 900), used("beef casing", 0), used("garlic", 5), used("cumin", 5)];
        assert_eq!(text(&salami), "pork, cumin, garlic, beef casing.");
    }

    #[test]
    fn an_allergen_stands_out_where_the_name_says_it_and_in_brackets_where_it_does_not() {
        let milk = Used { allergens: vec!["milk".into()], ..used("skimmed Milk powder", 20) };
        assert_eq!(text(&[milk]), "skimmed [Milk] powder.");
        let malt =
            Used { allergens: vec!["wheat".into(), "barley".into(), "Wheat".into()], ..used("malt", 20) };
        assert_eq!(text(&[malt]), "malt ([wheat], [barley]).");
        let both = Used { allergens: vec!["soya".into(), "milk".into()], ..used("soya sauce", 3) };
        assert_eq!(text(&[both]), "[soya] sauce ([milk]).");
    }

    #[test]
    fn an_allergen_that_came_with_one_of_two_lots_stands_out_once() {
        let with = Used { allergens: vec!["celery".into()], ..used("spice mix", 2) };
        assert_eq!(text(&[used("spice mix", 3), with.clone(), with]), "spice mix ([celery]).");
    }

    #[test]
    fn salt_that_was_shaken_off_and_thrown_away_is_not_in_the_product() {
        // 6,000 g of salt in the box, of which 4,500 g were thrown away.
        assert_eq!(
            laid_on(Grams::whole(6_000), Grams::whole(1_500), Grams::whole(4_500)),
            Grams::whole(1_500)
        );
        assert_eq!(laid_on(Grams::whole(50), Grams::ZERO, Grams::ZERO), Grams::whole(50));
    }

    #[test]
    fn nothing_used_is_no_list() {
        assert_eq!(text(&[]), "");
    }

    proptest! {
        #[test]
        fn no_ingredient_is_lost_or_out_of_order(grams in proptest::collection::vec(0..5_000_i64, 0..20)) {
            let list: Vec<Used> = grams.iter().enumerate().map(|(n, g)| used(&format!("thing {n}"), *g)).collect();
            let ordered = in_order(&list);
            prop_assert_eq!(ordered.len(), list.len());
            prop_assert!(ordered.windows(2).all(|pair| pair[0].grams >= pair[1].grams));
        }

        #[test]
        fn emphasis_never_changes_a_word(name in "\\PC{1,30}", allergen in "\\PC{1,8}") {
            let one = Used { allergens: vec![allergen], ..used(&name, 1) };
            let printed: String = statement(&[one]).into_iter().map(|span| span.text).collect();
            prop_assert!(printed.starts_with(&name), "{printed}");
        }
    }
}
