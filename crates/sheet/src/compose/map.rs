//! The piece at a glance: a cell for each bar.

use super::Composed;
use super::study::Asks;
use crate::model::BarCell;
use notation::{BarSide, DirectionKind};

/// A longer piece gets no map: it would fill pages.
const MOST_BARS: usize = 200;

pub(crate) fn cells(what: &Composed) -> Vec<BarCell> {
    let piece = what.piece;
    if piece.bars.len() > MOST_BARS {
        return Vec::new();
    }
    let mut cells: Vec<BarCell> = piece
        .bars
        .iter()
        .map(|bar| BarCell {
            label: bar.label.clone(),
            new_system: bar.new_system,
            ..BarCell::default()
        })
        .collect();
    bar_lines(what, &mut cells);
    above(what, &mut cells);
    for entry in what.survey.accidentals.iter().flat_map(|answer| &answer.ledger) {
        if let Some(cell) = cells.get_mut(entry.place.bar.get())
            && !entry.expected
        {
            cell.altered += 1;
        }
    }
    for (rank, place) in (1_u8..).zip(&what.survey.look_first) {
        for bar in place.from.get()..=place.to.get() {
            if let Some(cell) = cells.get_mut(bar) {
                cell.look_first = Some(rank);
            }
        }
    }
    if let Some(study) = what.study {
        for (cell, bar) in cells.iter_mut().zip(&study.bars) {
            let asks = Asks::of(bar, &study.player);
            (cell.to_read, cell.hands, cell.asks) = (asks.to_read, asks.hands, asks.says());
        }
    }
    cells
}

fn bar_lines(what: &Composed, cells: &mut [BarCell]) {
    for line in &what.piece.barlines {
        let at = line.place.bar.get();
        // A mark at the left of a bar that closes something belongs to the bar before it.
        let closes = line.repeat.as_ref().is_some_and(|repeat| !repeat.forward);
        let left = line.side == BarSide::Left;
        let own = if closes && left {
            at.checked_sub(1)
        } else {
            Some(at)
        };
        let Some(cell) = own.and_then(|index| cells.get_mut(index)) else {
            continue;
        };
        match &line.repeat {
            Some(repeat) if repeat.forward => cell.repeat_start = true,
            Some(_) => cell.repeat_end = true,
            None => {}
        }
        if !left
            && line
                .style
                .as_deref()
                .is_some_and(|style| style.starts_with("light-"))
        {
            cell.double_bar = true;
        }
        if let Some(ending) = &line.ending
            && ending.kind == notation::EndingKind::Start
        {
            let text = format!("{}.", ending.number.trim());
            if !cell.above.contains(&text) {
                cell.above.push(text);
            }
        }
    }
}

fn above(what: &Composed, cells: &mut [BarCell]) {
    let Some(part) = what.piece.parts.get(what.part) else {
        return;
    };
    for direction in &part.directions {
        let text = match &direction.kind {
            DirectionKind::Rehearsal(text) => text.trim().to_owned(),
            DirectionKind::Segno => "𝄋".to_owned(),
            DirectionKind::Coda => "𝄌".to_owned(),
            _ => continue,
        };
        push(cells, direction.place.bar.get(), text);
    }
    for place in &what.survey.road_map.unfolding.fines {
        // Fine acts at the end of its bar, which is the start of the next.
        let index = if place.offset.is_zero() {
            place.bar.get().saturating_sub(1)
        } else {
            place.bar.get()
        };
        push(cells, index, "Fine".to_owned());
    }
    for change in part.keys.iter().skip(1) {
        push(cells, change.place.bar.get(), change.value.name());
    }
    for change in part.metres.iter().skip(1) {
        push(cells, change.place.bar.get(), change.value.name());
    }
}

fn push(cells: &mut [BarCell], index: usize, text: String) {
    if let Some(cell) = cells.get_mut(index)
        && !text.is_empty()
        && !cell.above.contains(&text)
    {
        cell.above.push(text);
    }
}
