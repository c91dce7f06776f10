//! How do the diagrams look? `cargo run -p foreread-instruments --example diagrams > page.html` draws every chart.

use instruments::fingering::{all_charts, diagram};
use std::io::Write;

fn main() -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    let wanted: Vec<String> = std::env::args().skip(1).collect();
    write!(
        out,
        "<!doctype html><meta charset=utf-8><title>Fingerings</title>"
    )?;
    for chart in all_charts().filter(|chart| wanted.is_empty() || wanted.iter().any(|id| id == chart.id)) {
        write!(out, "<h2>{}</h2><table><tr>", chart.title)?;
        for (index, (note, fingerings)) in chart.entries().enumerate() {
            if index > 0 && index % 12 == 0 {
                write!(out, "</tr><tr>")?;
            }
            write!(out, "<td valign=top align=center><b>{}</b><br>", note.sign())?;
            for fingering in fingerings.iter().take(4) {
                write!(
                    out,
                    "{}<br><small>{}</small><br>",
                    diagram(fingering),
                    fingering.name
                )?;
            }
            write!(out, "</td>")?;
        }
        write!(out, "</tr></table>")?;
    }
    writeln!(out)
}
