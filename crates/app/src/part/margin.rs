//! How does the margin read? What to know before the first note, then the page line by line.

use crate::drawing;
use crate::hers;
use crate::part::notes::{Line, Note};
use crate::part::point::{Labels, indices, pointing};
use crate::part::rows;
use crate::prepared::Prepared;
use crate::screen::capital;
use maud::{Markup, PreEscaped, html};
use notation::{Pencil, PencilMark, PencilSign};
use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

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
            (errata(part, &labels))
            @for section in &part.sheet.study { @if is_short(section.id) { (rows::section(section, &labels, section.id == "slowly-first")) } }
            @for section in &part.sheet.sections {
                @if section.id == "key" { (rows::section_with(section, &labels, &hers::key_of_all(part))) }
                @else { (rows::section(section, &labels, false)) }
            }
            @for section in &part.sheet.study { @if !is_short(section.id) { (rows::section(section, &labels, false)) } }
            @if let Some(reading) = &part.sheet.reading { (rows::section(reading, &labels, false)) }
            @for words in &part.sheet.foot { p class="foot" { (words) } }
        }
        section class="along" aria-labelledby="along" {
            h2 id="along" { "Along the page" }
            (hers::decisions(part, &labels))
            @for line in lines { (of_line(line, &labels)) }
        }
    }
}

/// What a call corrects, each with its old reading and its date.
fn errata(part: &Prepared, labels: &Labels) -> Markup {
    let all: Vec<&PencilMark> = part
        .copy
        .marks
        .iter()
        .filter(|mark| mark.matter == desk::ERRATA)
        .collect();
    html! {
        @if !all.is_empty() {
            details class="answer-of errata" data-section="errata" open {
                summary { span class="asked" { "Errata" } " " span class="answer" { (part.calls.join("; ")) } }
                ul class="rows" {
                    @for mark in all {
                        @let bar = mark.from.place.bar;
                        li { (mark.reason) " " (pointing(&format!("bar {}", labels.label(bar)), &[bar])) }
                    }
                }
            }
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
