//! What the reader of the file and the questions found odd, in words.

use super::say::Say;
use crate::model::Section;
use crate::words::count;
use notation::{Finding, Severity};

pub(crate) fn section(findings: &[Finding], say: Say) -> Option<Section> {
    if findings.is_empty() {
        return None;
    }
    let many = |severity: Severity| findings.iter().filter(|f| f.severity == severity).count();
    let headline = [
        (many(Severity::Problem), "problem", "problems"),
        (many(Severity::Caution), "caution", "cautions"),
        (many(Severity::Note), "note", "notes"),
    ]
    .iter()
    .filter(|(n, ..)| *n > 0)
    .map(|(n, one, many)| count(*n, one, many))
    .collect::<Vec<_>>()
    .join(", ");
    let mut section = Section::new("reading", "What to know about this file", headline);
    let mut sorted: Vec<&Finding> = findings.iter().collect();
    sorted.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    for (what, advice, severity, bars) in together(&sorted) {
        let advice = if advice.is_empty() {
            String::new()
        } else {
            format!(" — {advice}")
        };
        section.line(severity.word(), format!("{what}{advice}"), say.bars(bars));
    }
    Some(section)
}

type Told<'a> = (&'a str, &'a str, Severity, Vec<notation::BarIndex>);

/// The same thing found in several bars is told once.
fn together<'a>(findings: &[&'a Finding]) -> Vec<Told<'a>> {
    let mut told: Vec<Told> = Vec::new();
    for finding in findings {
        let same = told.iter_mut().find(|(what, advice, severity, _)| {
            *what == finding.what && *advice == finding.advice && *severity == finding.severity
        });
        match same {
            Some((.., bars)) => bars.extend(finding.bar),
            None => told.push((
                &finding.what,
                &finding.advice,
                finding.severity,
                finding.bar.into_iter().collect(),
            )),
        }
    }
    told
}
