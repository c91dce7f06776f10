//! What did she choose where we propose? A key named, a breath taken, moved or struck out, a fingering; each kept as one step.

use crate::error::AppError;
use crate::hers::change::nothing;
use crate::hers::decided::{BREATH, BreathChosen, BreathIs, FINGERING, KEY, KEY_OF_BARS, KeyChosen, value};
use crate::hers::marks::LONGEST;
use crate::hers::place::{self, Touch};
use crate::prepared::Prepared;
use crate::state::App;
use load::breath::Breath;
use notation::{Anchor, BarIndex, PencilSign, Place};
use pencil::Matter;
use serde::Serialize;
use store::{Bars, ChoiceRow, Hold, NewChoice};
use survey::Context;

fn gone() -> AppError {
    nothing("there is no such note — load the page anew")
}

fn hold(part: &Prepared, anchor: &Anchor) -> Result<Hold, AppError> {
    Bars::of(&part.copy.piece, 0).hold_anchor(anchor).ok_or_else(gone)
}

fn new(about: &str, from: Hold, to: Option<Hold>, value: &impl Serialize) -> Result<NewChoice, AppError> {
    let value = serde_json::to_string(value).map_err(|_| nothing("that can’t be kept — choose anew"))?;
    Ok(NewChoice {
        player: None,
        about: about.to_owned(),
        from,
        to,
        value,
    })
}

/// Names a key, of the whole part or of some bars; without a tonic what was named is taken back.
pub(super) fn key(
    app: &App,
    part: &Prepared,
    bars: Option<(u32, u32)>,
    tonic: &str,
    scale: &str,
) -> Result<String, AppError> {
    let (first, last) = bars.map_or((0, 0), |(one, other)| (one.min(other), one.max(other)));
    let about = if bars.is_some() { KEY_OF_BARS } else { KEY };
    let hers = &part.hers.choices;
    if tonic.trim().is_empty() {
        let known = hers
            .iter()
            .find(|choice| choice.about == about && (bars.is_none() || choice.from.bar == first));
        let known = known.ok_or_else(|| nothing("that was taken back already — load the page anew"))?;
        app.store.take_back_choice(known.id)?;
        return Ok("Taken back: the proposal stands again".to_owned());
    }
    let named = KeyChosen {
        tonic: tonic.trim().to_owned(),
        scale: scale.trim().to_owned(),
    };
    let (tonic, scale) = named
        .read()
        .ok_or_else(|| nothing("that is no key — choose a tonic, and major, minor or a mode"))?;
    let named = KeyChosen::of(tonic, scale.word());
    let from = hold(part, &place::beginning(BarIndex(first)))?;
    let to = match bars {
        Some(_) => Some(hold(part, &place::beginning(BarIndex(last)))?),
        None => None,
    };
    // What she named before inside these bars is named anew.
    let inside = |choice: &&ChoiceRow| {
        let end = choice.to.as_ref().unwrap_or(&choice.from).bar;
        choice.about == KEY_OF_BARS && choice.placed && first < choice.from.bar && end <= last
    };
    let over: Vec<_> = hers.iter().filter(inside).map(|choice| choice.id).collect();
    let chosen = new(about, from, to, &named)?;
    app.store.edit(part.row.id, "key named", |edit| {
        if bars.is_some() {
            for id in over {
                edit.take_back_choice(id)?;
            }
        }
        edit.choose(&chosen)
    })?;
    let label = |bar: u32| part.copy.piece.label(BarIndex(bar));
    Ok(match bars {
        None => format!("Named: {}, for the whole part", named.says()),
        Some(_) if first == last => format!("Named: {}, bar {}", named.says(), label(first)),
        Some(_) => format!(
            "Named: {}, bars {} to {}",
            named.says(),
            label(first),
            label(last)
        ),
    })
}

/// What a sign of the tray says of breath, if a breath can be taken before this note at all.
pub(super) fn breath_of_sign(part: &Prepared, sign: PencilSign, from: &Anchor) -> Option<BreathIs> {
    let how = match sign {
        PencilSign::Breath => BreathIs::AtTempo,
        PencilSign::SlowBreath => BreathIs::WhileSlow,
        _ => return None,
    };
    is_blown(part).then_some(())?;
    in_line(part, from.place).then_some(how)
}

/// Whether the part is for breath at all.
fn is_blown(part: &Prepared) -> bool {
    let study = part.copy.shown.study.as_ref();
    study.is_some_and(|study| !study.breath.caution.is_empty())
}

/// Whether a note of the line stands at a place, not its very first.
fn in_line(part: &Prepared, place: Place) -> bool {
    let Some(ctx) = Context::new(&part.copy.piece, 0) else {
        return false;
    };
    let mut line = ctx.line.iter().skip(1).filter_map(|note| ctx.event(note));
    line.any(|event| event.place == place)
}

/// A breath of the study with the note before which it is taken.
pub(super) struct At {
    note: Anchor,
    is: BreathIs,
}

/// The breath that a mark of the copy stands for; `None` for any other mark.
pub(super) fn breath_of_mark(part: &Prepared, index: usize) -> Option<At> {
    let mark = part.copy.marks.get(index)?;
    let matter = Matter::from_name(&mark.matter)?;
    if !matches!(matter, Matter::Breaths | Matter::SlowBreaths) {
        return None;
    }
    let study = part.copy.shown.study.as_ref()?;
    let breaths = study.breath.at_first.iter().chain(&study.breath.at_final);
    let after = breaths.filter(|breath| breath.place > mark.from.place);
    let breath = after.min_by_key(|breath| breath.place)?;
    Some(At {
        note: note_of(part, breath)?,
        is: is(breath),
    })
}

/// Whether a mark of the copy stands where she chose it.
pub(crate) fn is_hers(part: &Prepared, index: usize) -> bool {
    breath_of_mark(part, index).is_some_and(|at| known(part, at.note.place).is_some())
}

/// The note before which a breath is taken.
pub(super) fn note_of(part: &Prepared, breath: &Breath) -> Option<Anchor> {
    let ctx = Context::new(&part.copy.piece, 0)?;
    ctx.event(ctx.line.get(breath.note)?).map(place::anchor_of)
}

/// What is done at a breath.
pub(super) const fn is(breath: &Breath) -> BreathIs {
    if breath.optional {
        BreathIs::WhileSlow
    } else {
        BreathIs::AtTempo
    }
}

/// What we propose at a note, where she has not chosen.
fn proposed(part: &Prepared, note: &Anchor) -> Option<BreathIs> {
    let study = part.copy.shown.study.as_ref()?;
    let ours = study.breath.at_first.iter().filter(|breath| !breath.own);
    let here = |breath: &&Breath| note_of(part, breath).is_some_and(|at| at.place == note.place);
    ours.filter(here).map(is).next()
}

/// Her choice of breath at a place.
pub(super) fn known(part: &Prepared, place: Place) -> Option<(&ChoiceRow, BreathChosen)> {
    let hers = part.hers.choices.iter();
    hers.filter(|choice| choice.placed && choice.about == BREATH && choice.from.place() == place)
        .find_map(|choice| Some((choice, value(choice)?)))
}

/// A breath before a note of a bar, or none there.
pub(super) fn breathe(
    app: &App,
    part: &Prepared,
    bar: u32,
    note: &str,
    how: Option<BreathIs>,
) -> Result<String, AppError> {
    let anchor = place::by_id(part, bar, note).ok_or_else(gone)?;
    if !is_blown(part) || !in_line(part, anchor.place) {
        return Err(nothing(
            "no breath is taken before this note — choose a note of the line after its first",
        ));
    }
    breathe_at(app, part, &anchor, how)
}

/// The same, at an anchor.
pub(super) fn breathe_at(
    app: &App,
    part: &Prepared,
    note: &Anchor,
    how: Option<BreathIs>,
) -> Result<String, AppError> {
    let hers = known(part, note.place);
    let Some(how) = how else {
        if let Some((row, _)) = hers {
            app.store.take_back_choice(row.id)?;
        }
        return Ok("The proposal stands again".to_owned());
    };
    let chosen = chosen(part, note, how)?;
    app.store.choose(part.row.id, &chosen)?;
    let bar = part.copy.piece.label(note.place.bar);
    Ok(match how {
        BreathIs::Not => format!("No breath here: bar {bar}"),
        how => format!("Breathe {}: bar {bar}", how.says()),
    })
}

fn chosen(part: &Prepared, note: &Anchor, breath: BreathIs) -> Result<NewChoice, AppError> {
    let proposed = match known(part, note.place) {
        Some((_, before)) => before.proposed,
        None => proposed(part, note),
    };
    let value = BreathChosen { breath, proposed };
    new(BREATH, hold(part, note)?, None, &value)
}

/// A breath kept as it is, whatever is proposed later.
pub(super) fn keep_breath(app: &App, part: &Prepared, breath: &At) -> Result<String, AppError> {
    let chosen = chosen(part, &breath.note, breath.is)?;
    app.store.choose(part.row.id, &chosen)?;
    Ok(format!("Kept: {}", sign(breath.is).name()))
}

/// A breath struck out; one that was her own alone is gone.
pub(super) fn strike_breath(app: &App, part: &Prepared, breath: &At) -> Result<String, AppError> {
    match known(part, breath.note.place) {
        Some((row, before)) if before.proposed.is_none() => app.store.take_back_choice(row.id)?,
        _ => {
            let chosen = chosen(part, &breath.note, BreathIs::Not)?;
            app.store.choose(part.row.id, &chosen)?;
        }
    }
    Ok(format!("Rubbed out: {}", sign(breath.is).name()))
}

/// A breath taken elsewhere: struck out here, hers there, in one step.
pub(super) fn move_breath(app: &App, part: &Prepared, breath: &At, to: &Touch) -> Result<String, AppError> {
    let there = place::nearest(part, to).filter(|there| in_line(part, there.place));
    let there = there
        .ok_or_else(|| nothing("no breath is taken there — touch the note before which she is to breathe"))?;
    if there.place == breath.note.place {
        return Ok("It stands there already".to_owned());
    }
    let (away, put) = (
        chosen(part, &breath.note, BreathIs::Not)?,
        chosen(part, &there, breath.is)?,
    );
    let own = known(part, breath.note.place).filter(|(_, before)| before.proposed.is_none());
    let own = own.map(|(row, _)| row.id);
    app.store.edit(part.row.id, "breath moved", |edit| {
        match own {
            Some(id) => edit.take_back_choice(id)?,
            None => drop(edit.choose(&away)?),
        }
        edit.choose(&put)
    })?;
    Ok(format!(
        "Moved: {}, to bar {}",
        sign(breath.is).name(),
        part.copy.piece.label(there.place.bar)
    ))
}

const fn sign(is: BreathIs) -> PencilSign {
    match is {
        BreathIs::WhileSlow => PencilSign::SlowBreath,
        BreathIs::AtTempo | BreathIs::Not => PencilSign::Breath,
    }
}

/// A fingering at a note; no name takes the choice back.
pub(super) fn finger(
    app: &App,
    part: &Prepared,
    bar: u32,
    note: &str,
    name: &str,
) -> Result<String, AppError> {
    let anchor = place::by_id(part, bar, note).ok_or_else(gone)?;
    let from = hold(part, &anchor)?;
    let known = part
        .hers
        .choices
        .iter()
        .find(|choice| choice.about == FINGERING && choice.from.is_at(&from));
    if name.is_empty() {
        if let Some(choice) = known {
            app.store.take_back_choice(choice.id)?;
        }
        return Ok("The proposal stands again".to_owned());
    }
    let name: String = name.chars().take(LONGEST).collect();
    app.store
        .choose(part.row.id, &new(FINGERING, from, None, &name)?)?;
    Ok(format!("Chosen: {name}"))
}
