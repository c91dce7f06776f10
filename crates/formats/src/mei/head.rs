//! What does one note head say? Its pitch, its printed accidental, ties, shape.
//!
//! Source: MEI 5.0, att.pitch, att.octave, att.accidental, att.accidental.ges, accid, att.noteHeads.

use super::force::letter;
use super::layer::Layer;
use super::music::Music;
use super::values::{accidental, is_fixed, is_true, short};
use crate::report::Why;
use crate::xml::El;
use notation::{Alter, Head, HeadNote, IdKind, Origin, Pitch, PrintedAccidental, Rational, Severity, Step};

impl<'a> Music<'a> {
    pub(super) fn head(&mut self, el: El<'_, 'a>, chord: Option<El<'_, 'a>>, layer: &Layer) -> Head {
        let staff = if el.attr("staff").is_some() {
            self.staff_of(el, layer)
        } else {
            chord.map_or(layer.staff, |chord| self.staff_of(chord, layer))
        };
        let ties = el
            .attr("tie")
            .or_else(|| chord.and_then(|chord| chord.attr("tie")))
            .unwrap_or_default();
        let tie = |which: &[char]| ties.split_whitespace().any(|tie| tie.starts_with(which));
        let (tie_start, tie_stop) = (tie(&['i', 'm']), tie(&['t', 'm']));
        let mut printed = None;
        let note = match (el.attr("pname").and_then(letter), self.octave(el, layer)) {
            (Some(step), Some(octave)) => {
                let (alter, sign) = self.accidental(el, step, octave, layer, tie_stop);
                printed = sign;
                HeadNote::Pitch(Pitch { step, alter, octave })
            }
            _ => {
                if el.attr("pname").is_some() || el.attr("oct").is_some() {
                    let what = format!(
                        "the pitch “{} {}” is none; the note was kept without one",
                        short(el.attr("pname").unwrap_or("")),
                        short(el.attr("oct").unwrap_or(""))
                    );
                    self.find(
                        Severity::Caution,
                        "pitch-unclear",
                        Some(layer.part),
                        layer.cursor,
                        what,
                        "check this note against the page",
                    );
                }
                HeadNote::Unpitched(drawn_at(el))
            }
        };
        let id = self.score.piece.ids.give(IdKind::Head);
        if let Some(foreign) = super::values::id_of(el) {
            let origin = Origin {
                foreign_id: Some(foreign.into_owned()),
                range: Some(el.range()),
                ..Origin::default()
            };
            self.score.piece.provenance.origins.insert(id, origin);
        }
        Head {
            id,
            note,
            staff,
            accidental: printed,
            tie_start,
            tie_stop,
            let_ring: is_true(el, "lv"),
            technical: Vec::new(),
            shape: el.attr("head.shape").and_then(shape),
            parentheses: matches!(el.attr("head.mod"), Some("paren"))
                || matches!(el.attr("enclose"), Some("paren" | "brack")),
        }
    }

    fn octave(&self, el: El<'_, 'a>, layer: &Layer) -> Option<i8> {
        match el.attr("oct") {
            Some(oct) => oct.parse().ok().filter(|octave| (-1..=10).contains(octave)),
            None => self
                .staves
                .get(layer.staff_at)
                .and_then(|staff| staff.default_oct)
                .filter(|oct| (-1..=10).contains(oct)),
        }
    }

    /// What alters the note in sound, and the sign printed before it.
    fn accidental(
        &mut self,
        el: El<'_, 'a>,
        step: Step,
        octave: i8,
        layer: &Layer,
        tied: bool,
    ) -> (Alter, Option<PrintedAccidental>) {
        let mut children = self.content(el);
        children.retain(|child| child.name() == "accid");
        let of = |name: &str| {
            el.attr(name)
                .or_else(|| children.iter().find_map(|child| child.attr(name)))
        };
        let sign = of("accid").filter(|sign| !sign.is_empty());
        let stated = of("accid.ges").filter(|sign| !sign.is_empty());
        let sounding = stated.and_then(|sign| accidental(sign).1);
        if let (Some(stated), None) = (stated, sounding) {
            let what = format!("a note is altered by “{}”, which is not known", short(stated));
            self.find(
                Severity::Caution,
                "pitch-unclear",
                Some(layer.part),
                layer.cursor,
                what,
                "check its accidental on the page",
            );
        }
        let shown = sign.and_then(|sign| accidental(sign).1);
        let alter = match (sounding, shown) {
            (Some(alter), _) | (None, Some(alter)) => alter,
            (None, None) if self.accidentals_from_page => self.read_off_page(step, octave, layer, tied),
            (None, None) => Rational::ZERO,
        };
        if let Some(staff) = self
            .staves
            .get_mut(layer.staff_at)
            .filter(|_| self.accidentals_from_page)
        {
            if shown.is_some() {
                staff.altered.insert((step, octave), alter);
            }
            staff.sounded.insert((step, octave), alter);
        }
        let printed =
            sign.map(|sign| self.printed(el, &children, sign, Pitch { step, alter, octave }, layer));
        (alter, printed)
    }

    /// What the page makes of a note without a sign: an accidental before it in the bar, else the signature.
    fn read_off_page(&mut self, step: Step, octave: i8, layer: &Layer, tied: bool) -> Alter {
        let Some(staff) = self.staves.get(layer.staff_at) else {
            return Rational::ZERO;
        };
        let before = staff.altered.get(&(step, octave)).copied();
        let held = staff.sounded.get(&(step, octave)).copied().filter(|_| tied);
        let alter = held.or(before).unwrap_or_else(|| staff.key.alter_of(step));
        self.applied |= !alter.is_zero();
        alter
    }

    fn printed(
        &mut self,
        el: El<'_, 'a>,
        children: &[El<'_, 'a>],
        sign: &str,
        pitch: Pitch,
        layer: &Layer,
    ) -> PrintedAccidental {
        let (name, alter) = accidental(sign);
        if alter.is_some_and(|alter| alter != pitch.alter) && is_fixed(sign) {
            let what = format!(
                "a {} is printed before {pitch}, which it cannot make; the pitch was kept",
                name.unwrap_or(sign)
            );
            self.find(
                Severity::Caution,
                "accidental-contradicts",
                Some(layer.part),
                layer.cursor,
                what,
                "check this note's accidental on the page",
            );
        }
        let child = children.iter().find(|child| child.attr("accid").is_some());
        let of = |name: &str| {
            child
                .and_then(|child| child.attr(name))
                .or_else(|| el.attr(&format!("accid.{name}")))
        };
        let func = of("func");
        if children
            .iter()
            .filter(|child| child.attr("accid").is_some())
            .count()
            > 1
        {
            self.unread("accid", "note", Why::NoPlace);
        }
        PrintedAccidental {
            sign: name.map_or_else(|| short(sign), str::to_owned),
            alter: alter.filter(|_| is_fixed(sign)),
            cautionary: func == Some("caution"),
            editorial: func == Some("edit"),
            parentheses: matches!(of("enclose"), Some("paren" | "brack" | "box")),
        }
    }

    /// Keeps the octave at which a head sounds where the file says that it differs from the one written.
    pub(super) fn octave_sounding(&mut self, el: El<'_, 'a>, part: usize, event: usize, head: usize) {
        let Some(octave) = el.attr("oct.ges").and_then(|oct| oct.parse::<i8>().ok()) else {
            return;
        };
        let key = (
            u32::try_from(event).unwrap_or(u32::MAX),
            u32::try_from(head).unwrap_or(u32::MAX),
        );
        if let Some(state) = self.parts.get_mut(part)
            && (-1..=10).contains(&octave)
        {
            state.sounding_octaves.insert(key, octave);
        }
    }
}

/// Where a note without a pitch is drawn, as if in the treble clef: `loc` 0 is the bottom line.
/// Source: MEI 5.0, data.STAFFLOC.
fn drawn_at(el: El<'_, '_>) -> Option<Pitch> {
    let place: i32 = el
        .attr("loc")?
        .parse()
        .ok()
        .filter(|place| (-30..=40).contains(place))?;
    let letter = Step::E.index() + 4 * 7 + place;
    Some(Pitch {
        step: Step::from_index(letter),
        alter: Rational::ZERO,
        octave: i8::try_from(letter.div_euclid(7)).ok()?,
    })
}

/// The shape of a head by MusicXML's name, where it is not the usual one.
/// Source: MEI 5.0, data.HEADSHAPE.list; MusicXML 4.0, notehead-value.
fn shape(shape: &str) -> Option<String> {
    let name = match shape {
        "" | "quarter" | "half" | "whole" | "oval" => return None,
        "isotriangle" => "triangle",
        "rtriangle" => "left triangle",
        "backslash" => "back slashed",
        "slash" => "slash",
        "+" => "cross",
        "circle" => "circled",
        "rectangle" => "rectangle",
        other => other,
    };
    Some(short(name))
}
