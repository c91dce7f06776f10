//! Clefs, in words.

use super::say::Say;
use crate::model::Section;
use crate::words::count;
use survey::clefs::ClefsAnswer;

pub(crate) fn section(answer: &ClefsAnswer, say: Say) -> Section {
    let mut names: Vec<String> = Vec::new();
    for staff in &answer.staves {
        for read in &staff.read_in {
            if !names.contains(&read.clef.name()) {
                names.push(read.clef.name());
            }
        }
    }
    let changes: usize = answer.staves.iter().map(|staff| staff.changes.len()).sum();
    let headline = match (names.as_slice(), changes) {
        ([], _) => "No clef printed.".to_owned(),
        ([only], 0) => format!("{only} clef throughout"),
        (several, n) => format!(
            "{} clef, {}",
            several.join(" and "),
            count(n, "change", "changes")
        ),
    };
    let mut section = Section::new("clefs", "Clefs", headline);
    for staff in &answer.staves {
        for change in &staff.changes {
            section.line(
                "changes",
                format!("to {} clef", change.clef.name()),
                say.at(change.place),
            );
        }
        if staff.read_in.len() > 1 {
            for read in &staff.read_in {
                let text = format!(
                    "{} clef: {}",
                    read.clef.name(),
                    count(read.notes, "note", "notes")
                );
                section.line("read in", text, say.bars(read.bars.iter().copied()));
            }
        }
    }
    for finding in &answer.findings {
        let bars = finding.bar.map_or_else(Vec::new, |bar| vec![say.label(bar)]);
        let advice = if finding.advice.is_empty() {
            String::new()
        } else {
            format!(" — {}", finding.advice)
        };
        section.line("ask", format!("{}{advice}", finding.what), bars);
    }
    section.means(&answer.means);
    section
}
