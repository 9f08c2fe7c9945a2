//! `check`: what of a scheme will not read, blend or match.

use super::plan::{line, painted, proportions_in_json};
use crate::args::PlanWork;
use crate::colours::Painted;
use crate::failure::Failure;
use crate::files::{json_text, print};
use grisaille_base::{Finding, Place};
use serde_json::json;
use std::fmt::Write;

pub(crate) fn check(args: &PlanWork) -> Result<(), Failure> {
    let (run, planned, painted) = painted(args)?;
    let found = painted.coloured.checks.len();
    let text = if args.json {
        let value = json!({
            "title": planned.scheme.title,
            "proportions": proportions_in_json(&painted),
            "checks": painted.coloured.checks,
            "findings": planned.findings,
        });
        json_text(&value)?
    } else {
        in_words(&planned.scheme.title, &painted, &planned.findings)
    };
    print(&text)?;
    run.finish()?;
    if found > 0 { Err(Failure::Found(found)) } else { Ok(()) }
}

fn in_words(title: &str, painted: &Painted, findings: &[Finding]) -> String {
    let mut text = String::new();
    line(&mut text, "Scheme", title);
    for p in &painted.coloured.proportions {
        let wanted = p.wanted.map_or_else(String::new, |w| format!(", {:.0} % in the palette", 100.0 * w));
        line(&mut text, "Palette", &format!("{}: {:.0} % of what is seen{wanted}", p.name, 100.0 * p.seen));
    }
    for row in &painted.coloured.colouring.rows {
        line(
            &mut text,
            "Region",
            &format!(
                "{}: {:.0} mm², {:.0} % of what is seen",
                row.name,
                row.area_mm2,
                100.0 * row.seen_share
            ),
        );
    }
    for finding in findings {
        line(&mut text, "Note", &finding.hint);
    }
    for check in &painted.coloured.checks {
        let place = match check.place {
            Some(Place::Point([x, y, z])) => format!(" (at {x:.1}, {y:.1}, {z:.1} mm)"),
            _ => String::new(),
        };
        line(&mut text, "Warning", &format!("{}{place}", check.hint));
    }
    match painted.coloured.checks.len() {
        0 => line(&mut text, "Result", "nothing stands in the way"),
        // Writing to a string cannot fail.
        n => {
            let _ = writeln!(text, "{:<11}{n} {}", "Result", if n == 1 { "warning" } else { "warnings" });
        }
    }
    text
}
