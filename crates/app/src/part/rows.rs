//! How do the rows of an answer stand in the margin? As on the sheet, but each shows its bars when touched.

use crate::drawing;
use crate::part::point::{Labels, pointing};
use crate::screen::capital;
use maud::{Markup, PreEscaped, html};
use sheet::{Row, Section, Tick};

/// A question with its answer in one line, to be opened.
pub(crate) fn section(section: &Section, labels: &Labels, open: bool) -> Markup {
    html! {
        details class="answer-of" data-section=(section.id) open[open] {
            summary { span class="asked" { (section.name) } " " span class="answer" { (section.answer) } }
            (rows(&section.rows, labels))
        }
    }
}

/// The same with what can be decided about it.
pub(crate) fn section_with(section: &Section, labels: &Labels, decide: &Markup) -> Markup {
    html! {
        details class="answer-of" data-section=(section.id) {
            summary { span class="asked" { (section.name) } " " span class="answer" { (section.answer) } }
            (decide)
            (rows(&section.rows, labels))
        }
    }
}

/// Rows, those of one kind together.
pub(crate) fn rows(rows: &[Row], labels: &Labels) -> Markup {
    let mut groups: Vec<&[Row]> = Vec::new();
    let mut start = 0;
    for end in 1..=rows.len() {
        let apart = rows
            .get(end)
            .zip(rows.get(start))
            .is_none_or(|(next, first)| !is_line(first) || !is_line(next));
        if apart {
            groups.extend(rows.get(start..end));
            start = end;
        }
    }
    html! { @for group in groups { (of_one_kind(group, labels)) } }
}

const fn is_line(row: &Row) -> bool {
    matches!(row, Row::Line { .. })
}

fn of_one_kind(group: &[Row], labels: &Labels) -> Markup {
    match group.first() {
        Some(Row::Line { .. }) => html! { dl { @for row in group { (row_of(row, labels)) } } },
        Some(row) => row_of(row, labels),
        None => html! {},
    }
}

fn row_of(row: &Row, labels: &Labels) -> Markup {
    match row {
        Row::Line { label, text, bars } => html! {
            dt { (label) }
            dd { (text) " " (said(bars, labels)) }
        },
        Row::Table { label, head, rows } => table(label, head, rows),
        Row::Details { summary, head, rows } => html! {
            details { summary { (summary) } (table("", head, rows)) }
        },
        Row::Spot {
            rank,
            bars: (bars, into),
            reasons,
            doing,
            also,
        } => html! {
            div class="spot" {
                h3 {
                    span class="rank" { (rank) } " "
                    (pointing(&capital(bars), &labels.find(&[bars.trim_start_matches("bars ").trim_start_matches("bar ").to_owned()])))
                    @if !into.is_empty() { " " span class="into" { (into) } }
                }
                ul class="why" { @for reason in reasons { li { (capital(reason)) } } }
                p class="doing" { (capital(doing)) }
                @if !also.is_empty() { p class="also" { (also) } }
            }
        },
        Row::Rungs(rungs) => html! { ol class="rungs" { @for rung in rungs { (tick(rung)) } } },
        Row::InWords(rows) => html! { (self::rows(rows, labels)) },
        Row::Pictured {
            note,
            text,
            bars,
            pictures,
        } => html! {
            div class="pictured" {
                div class="figures" { @for picture in pictures { (figure(&picture.svg, &picture.caption)) } }
                p { strong { (note) } " " (text) " " (said(bars, labels)) }
            }
        },
    }
}

/// A small drawing of ours with words under it.
pub(crate) fn figure(svg: &str, caption: &str) -> Markup {
    html! {
        figure {
            (PreEscaped(drawing::for_page(svg, "", "").unwrap_or_default()))
            figcaption { (caption) }
        }
    }
}

fn said(bars: &[String], labels: &Labels) -> Markup {
    if bars.is_empty() {
        return html! {};
    }
    let found = labels.find(bars);
    let word = if found.len() == 1 { "bar" } else { "bars" };
    pointing(
        &format!("{word} {}", bars.join(", ").replace(", and ", " and ")),
        &found,
    )
}

fn tick(rung: &Tick) -> Markup {
    let (fewest, most) = rung.times;
    let times = match (fewest, most) {
        (1, 1) => "once".to_owned(),
        (fewest, most) if fewest == most => format!("{fewest} times"),
        (fewest, most) => format!("{fewest} to {most} times"),
    };
    html! {
        li {
            span class="tempo" { (rung.tempo) } " " span class="times" { (times) }
            @if !rung.click.is_empty() { " " span class="click" { (rung.click) } }
        }
    }
}

fn table(label: &str, head: &[String], rows: &[Vec<String>]) -> Markup {
    html! {
        div class="wide" {
            table {
                @if !label.is_empty() { caption { (label) } }
                @if head.iter().any(|cell| !cell.is_empty()) {
                    thead { tr { @for cell in head { th scope="col" { (cell) } } } }
                }
                tbody { @for row in rows { tr { @for cell in row { td { (cell) } } } } }
            }
        }
    }
}
