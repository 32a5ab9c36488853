//! The flow of a plan as a picture: the steps from top to bottom, what comes in beside them at the right.

use super::entry::Document;

/// Everything is in units of a picture 360 wide.
const WIDTH: u32 = 360;
const LEFT: (u32, u32) = (0, 208);
const RIGHT: (u32, u32) = (232, 128);
const HIGH: u32 = 46;
const ROW: u32 = 66;

/// The picture, ready to print.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Flow {
    pub label: String,
    pub height: u32,
    /// The height of a box.
    pub high: u32,
    pub boxes: Vec<Place>,
    pub ways: Vec<String>,
}

/// A step in the picture.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Place {
    pub x: u32,
    pub y: u32,
    pub width: u32,
    pub n: usize,
    /// Where its number stands, and its name in one line or two.
    pub number_x: u32,
    pub number_y: u32,
    pub words_x: u32,
    pub words: Vec<Words>,
    /// "CCP 1, CCP 2"; empty where it has none. It stands beside a step, and in one that comes in from the side.
    pub ccps: String,
    pub ccp_x: u32,
    pub ccp_y: u32,
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Words {
    pub y: u32,
    pub text: String,
}

/// Lays the steps out.
pub fn flow(document: &Document) -> Flow {
    let mut flow = Flow { high: HIGH, ..Flow::default() };
    let beside = |n: usize| document.steps.get(n).is_some_and(|step| step.into.is_some());
    let top = |n: usize| u32::try_from(n).unwrap_or(u32::MAX / ROW - 1) * ROW;
    let mut last: Option<usize> = None;
    for (n, step) in document.steps.iter().enumerate() {
        let (x, width) = if beside(n) { RIGHT } else { LEFT };
        let mut ccps: Vec<usize> =
            step.hazards.iter().filter_map(|hazard| document.ccp_number(hazard.ccp?)).collect();
        ccps.sort_unstable();
        ccps.dedup();
        let ccps = ccps.into_iter().map(|ccp| format!("CCP {ccp}")).collect::<Vec<_>>().join(", ");
        let lines = wrapped(&step.name, usize::try_from((width - 40) / 7).unwrap_or(8));
        let first = if lines.len() == 1 { 28 } else { 20 };
        let words =
            lines.into_iter().zip([first, 36]).map(|(text, down)| Words { y: top(n) + down, text }).collect();
        let (ccp_x, ccp_y) = if beside(n) { (x + 28, top(n) + 42) } else { (RIGHT.0, top(n) + 15) };
        let (number_x, number_y, words_x) = (x + 8, top(n) + 28, x + 28);
        flow.boxes.push(Place {
            x,
            y: top(n),
            width,
            n: n + 1,
            number_x,
            number_y,
            words_x,
            words,
            ccps,
            ccp_x,
            ccp_y,
        });
        if let Some(into) = step.into {
            let (gutter, middle) = (u32::midpoint(LEFT.1, RIGHT.0), top(n) + HIGH / 2);
            let target = top(usize::from(into).saturating_sub(1)) + HIGH / 2;
            flow.ways.push(format!("M{} {middle}H{gutter}V{target}H{}", RIGHT.0, LEFT.1 + 6));
        } else {
            if let Some(last) = last {
                let x = LEFT.1 / 2;
                flow.ways.push(format!("M{x} {}V{}", top(last) + HIGH, top(n) - 6));
            }
            last = Some(n);
        }
    }
    flow.height = top(document.steps.len()).saturating_sub(ROW - HIGH).max(1);
    let names: Vec<&str> = document.steps.iter().map(|step| step.name.as_str()).collect();
    flow.label = format!("The flow in {} steps: {}.", names.len(), names.join(", "));
    flow
}

/// In two lines at most, broken between words; what is longer ends in an ellipsis.
fn wrapped(text: &str, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        if !line.is_empty() && line.chars().count() + word.chars().count() >= most {
            if lines.len() == 1 {
                line.push('…');
                break;
            }
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    lines.push(line);
    for line in &mut lines {
        if line.chars().count() > most + 1 {
            *line = line.chars().take(most).chain(['…']).collect();
        }
    }
    lines
}

impl Flow {
    /// The picture with room for its strokes.
    pub fn view(&self) -> String {
        format!("-2 -2 {} {}", WIDTH + 4, self.height + 4)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::shipped::shipped;

    #[test]
    fn steps_stand_below_each_other_and_ingredients_come_in_from_the_side() {
        let plans = shipped().expect("files that read");
        let plan = plans.iter().find(|one| one.key == "fermented-dry-sausage").expect("shipped");
        let flow = flow(&plan.document);
        assert_eq!(flow.boxes.len(), 8);
        assert_eq!(flow.ways.len(), 7);
        let beside: Vec<usize> = flow.boxes.iter().filter(|place| place.x > 0).map(|place| place.n).collect();
        assert_eq!(beside, [2]);
        assert_eq!(flow.boxes[5].ccps, "CCP 2, CCP 3");
        assert!(flow.boxes.windows(2).all(|pair| pair[1].y >= pair[0].y + HIGH));
    }

    #[test]
    fn a_long_name_takes_two_lines_and_then_an_ellipsis() {
        assert_eq!(
            wrapped("Mix with salt, cure, sugar and culture", 24),
            ["Mix with salt, cure,", "sugar and culture"]
        );
        assert_eq!(wrapped("one two three four five six seven eight", 10), ["one two", "three four…"]);
        assert_eq!(wrapped("Ferment", 24), ["Ferment"]);
    }
}
