//! What becomes of a mark? Put, rubbed out, kept, moved: hers as it is, one of ours by a row that stands in its place.

use crate::error::AppError;
use crate::hers::apply::sign;
use crate::hers::change::nothing;
use crate::hers::place::{self, Touch};
use crate::prepared::Prepared;
use crate::state::App;
use notation::{Anchor, BarIndex, PencilMark, PencilSign};
use store::{Bars, MarkAct, MarkId, MarkRow, NewMark, Ours};

/// From where to where a sign goes: over whole bars, or at one note.
pub(super) fn ends(
    part: &Prepared,
    sign: PencilSign,
    at: Option<&Touch>,
    note: Option<&(u32, String)>,
    bars: Option<(u32, u32)>,
) -> Result<(Anchor, Option<Anchor>), AppError> {
    let no_place = || nothing("there is no such bar or note — touch the page where the mark is to be");
    let bar = at.map(|at| at.bar).or(note.map(|(bar, _)| *bar));
    let bars = bars.or(bar.map(|bar| (bar, bar)));
    if over_bars(sign) {
        let (one, other) = bars.ok_or_else(no_place)?;
        let (first, last) = (BarIndex(one.min(other)), BarIndex(one.max(other)));
        part.copy.piece.bars.get(last.get()).ok_or_else(no_place)?;
        return Ok((place::beginning(first), Some(place::end(part, last))));
    }
    let anchor = match (note, at, bars) {
        (Some((bar, note)), ..) => place::by_id(part, *bar, note),
        (None, Some(at), _) => place::nearest(part, at),
        (None, None, Some((first, _))) => Some(place::beginning(BarIndex(first))),
        (None, None, None) => None,
    };
    Ok((anchor.ok_or_else(no_place)?, None))
}

/// Signs that reach over whole bars.
const fn over_bars(sign: PencilSign) -> bool {
    matches!(
        sign,
        PencilSign::SpotBracket
            | PencilSign::BeatStrokes
            | PencilSign::Counts
            | PencilSign::RepeatHook
            | PencilSign::LookAlike
    )
}

/// The longest words of a mark, in letters.
pub(super) const LONGEST: usize = 60;

pub(super) fn add(
    app: &App,
    part: &Prepared,
    name: &str,
    text: &str,
    (from, to): (Anchor, Option<Anchor>),
) -> Result<String, AppError> {
    let sign = sign(name);
    let text: String = text
        .chars()
        .filter(|c| !c.is_control() && !notation::steers(*c))
        .take(LONGEST)
        .collect();
    let text = match sign {
        PencilSign::Courtesy => accidental(part, &from),
        PencilSign::Words | PencilSign::Fingering | PencilSign::LookAlike | PencilSign::JumpArrow
            if text.trim().is_empty() =>
        {
            return Err(nothing(
                "this sign needs words or a number — write them beside it first",
            ));
        }
        PencilSign::Words | PencilSign::Fingering | PencilSign::LookAlike | PencilSign::JumpArrow => {
            text.trim().to_owned()
        }
        _ => String::new(),
    };
    let bars = Bars::of(&part.copy.piece, 0);
    let hold = |anchor: &Anchor| {
        bars.hold_anchor(anchor).ok_or_else(|| {
            nothing("there is no such place in this part — touch the page where the mark is to be")
        })
    };
    let mut new = NewMark::at(sign.name(), hold(&from)?);
    new.to = to.as_ref().map(hold).transpose()?;
    new.text = text;
    app.store.add_mark(part.row.id, &new)?;
    Ok(format!(
        "Pencilled: {}, bar {}",
        sign.name(),
        part.copy.piece.label(from.place.bar)
    ))
}

/// The accidental that a courtesy says: that of the note as it is.
fn accidental(part: &Prepared, anchor: &Anchor) -> String {
    let id = place::event(part, anchor);
    let events = place::events(part, anchor.place.bar);
    let pitch = events
        .iter()
        .find(|event| Some(event.id) == id)
        .and_then(notation::Event::top_pitch);
    let sign = pitch
        .map(|pitch| notation::alter_sign(pitch.alter).to_string())
        .unwrap_or_default();
    if sign.is_empty() { "♮".to_owned() } else { sign }
}

/// Ours, or hers?
enum Whose<'a> {
    Ours(&'a PencilMark),
    Hers(&'a MarkRow),
}

fn whose(part: &Prepared, index: usize) -> Result<Whose<'_>, AppError> {
    let gone = || nothing("that mark is not there any more — load the page anew");
    let mark = part.copy.marks.get(index).ok_or_else(gone)?;
    match part.hers_at(index) {
        Some(row) => Ok(Whose::Hers(row)),
        None => Ok(Whose::Ours(mark)),
    }
}

fn ours(part: &Prepared, mark: &PencilMark) -> Option<(Ours, NewMark)> {
    let bars = Bars::of(&part.copy.piece, 0);
    let from = bars.hold_anchor(&mark.from)?;
    let to = mark.to.as_ref().and_then(|to| bars.hold_anchor(to));
    let mut new = NewMark::at(mark.sign.name(), from.clone());
    new.to.clone_from(&to);
    new.text.clone_from(&mark.text);
    let ours = Ours {
        matter: mark.matter.clone(),
        from,
        to,
    };
    new.ours = Some(ours.clone());
    Some((ours, new))
}

pub(super) fn erase(app: &App, part: &Prepared, index: usize) -> Result<String, AppError> {
    match whose(part, index)? {
        Whose::Hers(row) => {
            // Hers in the place of ours: both are gone then.
            if row.act == MarkAct::Changed {
                let mut row = row.clone();
                row.act = MarkAct::Erased;
                app.store.change_mark(&row)?;
            } else {
                app.store.erase_mark(MarkId(row.id.0))?;
            }
            Ok(format!("Rubbed out: {}", row.sign))
        }
        Whose::Ours(mark) => {
            let (_, mut new) = ours(part, mark)
                .ok_or_else(|| nothing("that mark has no place in this part — load the page anew"))?;
            new.act = MarkAct::Erased;
            app.store.add_mark(part.row.id, &new)?;
            Ok(format!("Rubbed out: {}", mark.sign.name()))
        }
    }
}

pub(super) fn keep(app: &App, part: &Prepared, index: usize) -> Result<String, AppError> {
    match whose(part, index)? {
        Whose::Hers(row) => Ok(format!("It is yours already: {}", row.sign)),
        Whose::Ours(mark) => {
            let (_, mut new) = ours(part, mark)
                .ok_or_else(|| nothing("that mark has no place in this part — load the page anew"))?;
            new.act = MarkAct::Confirmed;
            app.store.add_mark(part.row.id, &new)?;
            Ok(format!("Kept: {}", mark.sign.name()))
        }
    }
}

pub(super) fn shift(app: &App, part: &Prepared, index: usize, to: &Touch) -> Result<String, AppError> {
    let bars = Bars::of(&part.copy.piece, 0);
    let sign = part
        .copy
        .marks
        .get(index)
        .map_or(PencilSign::Words, |mark| mark.sign);
    let (from, end) = ends(part, sign, Some(to), None, None)?;
    let hold = |anchor: &Anchor| {
        bars.hold_anchor(anchor)
            .ok_or_else(|| nothing("there is no such place in this part — touch a note"))
    };
    let (from_hold, to_hold) = (hold(&from)?, end.as_ref().map(hold).transpose()?);
    match whose(part, index)? {
        Whose::Hers(row) => {
            let mut row = row.clone();
            row.from = from_hold;
            row.to = to_hold;
            app.store.change_mark(&row)?;
        }
        Whose::Ours(mark) => {
            let (_, mut new) = ours(part, mark)
                .ok_or_else(|| nothing("that mark has no place in this part — load the page anew"))?;
            new.act = MarkAct::Changed;
            new.from = from_hold;
            new.to = to_hold;
            app.store.add_mark(part.row.id, &new)?;
        }
    }
    Ok(format!(
        "Moved: {}, to bar {}",
        sign.name(),
        part.copy.piece.label(from.place.bar)
    ))
}
