//! How does the margin read? What to know before the first note, then the page line by line.

use crate::drawing;
use crate::part::notes::{Line, Note};
use crate::part::point::{Labels, indices, pointing};
use crate::part::rows;
use crate::prepared::Prepared;
use crate::screen::capital;
use maud::{Markup, PreEscaped, html};
use notation::{BarIndex, Pencil, PencilSign};
use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};
use store::{MarkAct, MarkRow};

/// The whole margin.
pub(crate) fn margin(part: &Prepared, lines: &[Line]) -> Markup {
    let labels = Labels::of(&part.copy.piece);
    html! {
        nav class="ways" aria-label="In the margin" {
            a href="#before" { "Before the first note" }
            a href="#along" { "Along the page" }
        }
        section class="before" aria-labelledby="before" {
            h2 id="before" { "Before the first note" }
            @for section in &part.sheet.study { @if is_short(section.id) { (rows::section(section, &labels, section.id == "slowly-first")) } }
            @for section in &part.sheet.sections { (rows::section(section, &labels, false)) }
            @for section in &part.sheet.study { @if !is_short(section.id) { (rows::section(section, &labels, false)) } }
            @if let Some(reading) = &part.sheet.reading { (rows::section(reading, &labels, false)) }
            @for words in &part.sheet.foot { p class="foot" { (words) } }
        }
        section class="along" aria-labelledby="along" {
            h2 id="along" { "Along the page" }
            (hers(part, &labels))
            @for line in lines { (of_line(line, &labels)) }
        }
    }
}

/// What is read before the twelve answers: where it will go wrong, and how fast to begin.
fn is_short(id: &str) -> bool {
    matches!(id, "slowly-first" | "first-tempo")
}

fn of_line(line: &Line, labels: &Labels) -> Markup {
    let (drawn, others): (Vec<&Note>, Vec<&Note>) = line
        .notes
        .iter()
        .partition(|note| note.is_drawn() || note.sign.is_none());
    html! {
        @if !line.notes.is_empty() {
            section class="line" data-system=(line.system) {
                h3 { (labels.run(line.bars.0, line.bars.1)) }
                ol class="notes" { @for note in drawn { (item(note, labels)) } }
                @if !others.is_empty() {
                    details class="others" {
                        summary { (others.len()) " more, not pencilled" }
                        ol class="notes" { @for note in others { (item(note, labels)) } }
                    }
                }
            }
        }
    }
}

/// A note with what can be done about its mark.
pub(crate) fn item(note: &Note, labels: &Labels) -> Markup {
    html! {
        li {
            (one(note, labels))
            @if let Some(mark) = note.mark {
                div class="about-mark" {
                    @if note.hers { span class="whose" { "The teacher’s own. " } }
                    @else if note.kept { span class="whose" { "Kept by the teacher. " } }
                    @else { button type="button" class="keep-mark" data-mark=(mark) { "Keep it" } }
                    button type="button" class="erase-mark" data-mark=(mark) { "Rub it out" }
                }
            }
        }
    }
}

/// What she rubbed out, kept, and what has no place in the file of now.
fn hers(part: &Prepared, labels: &Labels) -> Markup {
    let rows = part.hers.marks.iter();
    let rows: Vec<&MarkRow> = rows
        .filter(|row| {
            !row.placed || matches!(row.act, MarkAct::Erased | MarkAct::Confirmed | MarkAct::Changed)
        })
        .collect();
    html! {
        @if !rows.is_empty() {
            details class="taken" {
                summary { "The teacher’s decisions: " (rows.len()) }
                ul class="rows" {
                    @for row in rows {
                        @let bar = BarIndex(row.from.bar);
                        li {
                            @if !row.placed { "Has no place in this file: " }
                            (row.sign) ", "
                            (pointing(&format!("bar {}", labels.label(bar)), &[bar]))
                            @match row.act {
                                MarkAct::Erased => ": rubbed out",
                                MarkAct::Confirmed => ": kept",
                                MarkAct::Changed => ": moved here",
                                MarkAct::Added => ": the teacher’s own",
                            }
                            " " button type="button" class="take-back" data-row=(row.id) { "Take it back" }
                        }
                    }
                }
            }
        }
    }
}

/// One note; touching it shows its place.
pub(crate) fn one(note: &Note, labels: &Labels) -> Markup {
    html! {
        button type="button" class={ "note" @if !note.is_drawn() { " bare" } } id=(note.id)
            data-bars=(indices(&note.all_bars())) data-spots=(note.where_drawn()) {
            span class="sign" { (note.sign.map(sign).unwrap_or_default()) }
            span class="said" {
                span class="about" { (capital(note.about)) }
                span class="bars" { (note.heading(labels).to_lowercase()) }
                span class="why" { (capital(&note.why)) }
                @if !note.doing.is_empty() { span class="doing" { (capital(&note.doing)) } }
            }
        }
    }
}

/// The sign as it is drawn on the part: drawn once on a page ([`drawings`]), shown at every note of it.
fn sign(sign: PencilSign) -> Markup {
    let (width, height, _) = drawn(sign);
    html! {
        svg class="small-sign" viewBox={ "-20 -20 " (width) " " (height) } aria-hidden="true" { use href={ "#" (sign.class()) } {} }
    }
}

/// Every sign that notes may show, once.
pub(super) fn drawings() -> Markup {
    html! {
        svg class="unseen" aria-hidden="true" {
            defs { @for sign in PencilSign::ALL { g id=(sign.class()) { (PreEscaped(&drawn(sign).2)) } } }
        }
    }
}

/// How wide and high a sign is with a little air, so that a stroke at the edge is not cut, and the sign.
fn drawn(sign: PencilSign) -> (String, String, String) {
    static DRAWN: Mutex<BTreeMap<PencilSign, (String, String, String)>> = Mutex::new(BTreeMap::new());
    let mut known = DRAWN.lock().unwrap_or_else(PoisonError::into_inner);
    let of = known.entry(sign).or_insert_with(|| {
        let sample = engrave::pencil::sample(Some(sign), Pencil::Graphite);
        let svg = format!("<svg xmlns=\"http://www.w3.org/2000/svg\">{}</svg>", sample.svg);
        let size = |length: f64| format!("{:.0}", length + 40.0);
        let whole = drawing::for_page(&svg, "", "").unwrap_or_default();
        let inside = whole
            .split_once('>')
            .and_then(|(_, rest)| rest.strip_suffix("</svg>"))
            .unwrap_or_default()
            .to_owned();
        (size(sample.width), size(sample.height), inside)
    });
    of.clone()
}
