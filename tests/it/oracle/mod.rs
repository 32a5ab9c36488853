//! The program's arithmetic beside that of others: public libraries of units, integration and optimisation reckon the same cases
//! on their own. A script of `tests/oracle` gets the cases as JSON and answers with JSON; `.ci/setup --tests` installs what it
//! needs in `target/oracle`.

mod blending;
mod curing;
mod drying;
mod fermenting;
mod units;
mod water;

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

use rust_decimal::Decimal;
use serde_json::Value;

const PYTHON: &str = "target/oracle/bin/python";

/// What the script makes of the cases, one answer for each.
pub fn ask(script: &str, cases: &[Value]) -> Vec<Value> {
    assert!(Path::new(PYTHON).exists(), "{PYTHON} is missing: run .ci/setup --tests, which installs it");
    let mut child = Command::new(PYTHON)
        .arg(format!("tests/oracle/{script}.py"))
        .env("PYTHONDONTWRITEBYTECODE", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(serde_json::to_string(cases).unwrap().as_bytes()).unwrap();
    let done = child.wait_with_output().unwrap();
    assert!(done.status.success(), "{script}: {}", String::from_utf8_lossy(&done.stderr));
    let answers: Vec<Value> = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(answers.len(), cases.len(), "{script} answers each case");
    answers
}

/// A figure of an answer.
fn number(answer: &Value) -> Decimal {
    answer.as_str().unwrap().parse().unwrap()
}

/// Holds ours against theirs, case by case.
#[track_caller]
fn agree(cases: &[Value], ours: &[Decimal], theirs: &[Value], within: Decimal) {
    assert!(cases.len() >= 20, "only {} cases", cases.len());
    for ((case, ours), theirs) in cases.iter().zip(ours).zip(theirs) {
        let theirs = number(theirs);
        assert!((ours - theirs).abs() <= within, "{case}: here {ours}, there {theirs}");
    }
}

/// Figures that look drawn at random and are the same in every run: a linear congruence (Knuth's MMIX constants).
struct Figures(u64);

impl Figures {
    fn next(&mut self, least: u32, most: u32) -> u32 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let spread = u64::from(most - least) + 1;
        least + u32::try_from((self.0 >> 33) % spread).unwrap()
    }

    /// With so many decimals.
    fn decimal(&mut self, least: u32, most: u32, places: u32) -> Decimal {
        Decimal::new(i64::from(self.next(least, most)), places)
    }
}
