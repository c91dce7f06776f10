//! What comes into force here? Clefs, keys, metres, tempos, instruments, transpositions, ottavas, pedals.
//!
//! Source: Humdrum reference, tandem interpretations; those marked so in `COVERAGE.md` by common usage.

use super::key;
use super::layout::{Home, instrument_code};
use super::part::Reader;
use super::scan::Cell;
use super::spans::Family;
use super::{instruments, verses};
use notation::{
    Anchor, Clef, ClefSign, DirectionKind, Rational, Severity, Side, SoundHint, SpanKind, Transposition,
};

/// What was in force longer ago, on one of many staves, is said again rather than looked for.
pub(super) const FAR_BACK: usize = 64;

impl<'a> Reader<'a, '_> {
    /// Reads a tandem interpretation.
    pub(super) fn tandem(&mut self, cell: &Cell<'a>, home: Home) {
        let spine = self.spine_of(cell);
        let token = cell.text;
        let is_notes = self.scan.spines[spine].is_kern();
        match token {
            "*above" => return self.spines[spine].side = Some(Side::Above),
            "*below" => return self.spines[spine].side = Some(Side::Below),
            "*^" | "*v" | "*x" | "*+" | "*-" => return,
            _ => {}
        }
        if token.starts_with("*>") || token.starts_with("*staff") || token.starts_with("*part") {
            // Read with the layout and the sections.
            return;
        }
        if !is_notes {
            // Beside the notes most are repeated from the notes' own spine.
            if verses::is_verse(self.scan.spines[spine].kind) || !token.starts_with("*MM[") {
                return;
            }
        }
        match token {
            "*cue" => self.spines[spine].cue = true,
            "*Xcue" => self.spines[spine].cue = false,
            "*tuplet" => self.spines[spine].tuplets_hidden = false,
            "*Xtuplet" => self.spines[spine].tuplets_hidden = true,
            "*brackettup" | "*Xbrackettup" | "*beamtup" | "*Xbeamtup" | "*tuplet:fix" => {}
            "*8va" => self.ottava(cell, home, 1),
            "*8ba" | "*8vb" => self.ottava(cell, home, -1),
            "*15ma" => self.ottava(cell, home, 2),
            "*15ba" | "*15mb" => self.ottava(cell, home, -2),
            "*X8va" | "*X8ba" | "*X8vb" | "*X15ma" | "*X15ba" | "*X15mb" => {
                self.end_line(cell, home, Family::Ottava);
            }
            "*ped" | "*ped*" => {
                let anchor = self.free_anchor();
                self.open_at(cell, home, Family::Pedal, 0, SpanKind::Pedal, anchor, None);
            }
            "*Xped" => self.end_line(cell, home, Family::Pedal),
            _ => self.prefixed(cell, home, spine),
        }
    }

    fn prefixed(&mut self, cell: &Cell<'a>, home: Home, spine: usize) {
        let token = cell.text;
        if let Some(inside) = token.strip_prefix("*k[") {
            self.signature(cell, home, spine, inside);
        } else if let Some(designation) = token.strip_prefix('*').and_then(key::designation) {
            self.spines[spine].designation = Some((self.place(), designation, cell.at));
            self.join_designation(home, spine);
        } else if matches!(token, "*?:" | "*?:X" | "*X:" | "*X:X") {
            // No key, or one that the encoder does not know.
        } else if let Some(text) = token.strip_prefix("*clef") {
            self.clef(cell, home, spine, text);
        } else if let Some(symbol) = token.strip_prefix("*met(") {
            self.metre_symbol(cell, home, symbol.trim_end_matches(')'));
        } else if let Some(tempo) = token.strip_prefix("*MM") {
            self.tempo(cell, home, tempo);
        } else if let Some(metre) = token.strip_prefix("*M").filter(|m| !m.is_empty()) {
            self.metre(cell, home, metre);
        } else if let Some(interval) = token.strip_prefix("*ITr") {
            self.transposition(cell, home, spine, interval);
        } else if token.starts_with("*Tr") {
            self.find(
                home.part,
                Severity::Note,
                "transposed-source",
                format!(
                    "the file says that its music was transposed ({}); the notes stand as they are given",
                    &token[1..]
                ),
                "",
            );
        } else if token.starts_with("*I") {
            self.instrument(cell, home);
        } else if !matches!(token.get(..3), Some("*tb" | "*xy")) {
            let name: String = token
                .chars()
                .take_while(|c| !c.is_ascii_digit())
                .take(30)
                .collect();
            // Original and modernised forms of what stands beside them, and notes written out for a tremolo.
            let known =
                matches!(token.get(..2), Some("*m" | "*o")) || matches!(token, "*tremolo" | "*Xtremolo");
            self.left_out(Some(home.part), known, &format!("the interpretation {name}"));
        }
    }

    fn free_anchor(&self) -> Option<Anchor> {
        Some(Anchor {
            place: self.place(),
            element: None,
        })
    }

    fn ottava(&mut self, cell: &Cell<'a>, home: Home, octaves: i8) {
        let anchor = self.free_anchor();
        let kind = SpanKind::Ottava { octaves };
        self.open_at(cell, home, Family::Ottava, 0, kind, anchor, None);
    }

    fn end_line(&mut self, cell: &Cell<'a>, home: Home, family: Family) {
        let anchor = self.free_anchor();
        if !self.close_at(home, cell, family, 0, anchor) {
            self.end_alone(cell, home, family, usize::MAX);
        }
    }

    fn clef(&mut self, cell: &Cell<'a>, home: Home, spine: usize, text: &str) {
        let Some(clef) = clef(text) else {
            let what = format!("the clef “{text}” is not known; it was left out");
            self.find(
                home.part,
                Severity::Caution,
                "clef-unclear",
                what,
                "read the clef on the page",
            );
            return;
        };
        self.spines[spine].unpitched = clef.sign == ClefSign::Percussion;
        let staff = self.staff(home);
        let clefs = &self.parts[home.part].part.clefs;
        if clefs
            .iter()
            .rev()
            .take(FAR_BACK)
            .find(|change| change.staff == staff)
            .is_some_and(|change| change.value == clef)
        {
            return;
        }
        let change = self.change(cell, staff, clef);
        self.parts[home.part].part.clefs.push(change);
    }

    /// `*MM96` is what a computer plays by; `*MM[Allegro]` what is printed.
    fn tempo(&mut self, cell: &Cell<'a>, home: Home, text: &str) {
        if let Some(words) = text.strip_prefix('[') {
            let words = words.trim_end_matches(']').to_owned();
            let top = self.top().unwrap_or(home);
            let place = self.place();
            let known = self.parts[top.part]
                .part
                .directions
                .iter()
                .rev()
                .take(50)
                .any(|direction| {
                    direction.place == place && direction.kind == DirectionKind::Words(words.clone())
                });
            if !known && !words.is_empty() {
                self.direct(cell, top, Some(Side::Above), true, DirectionKind::Words(words));
            }
            return;
        }
        let usable = |tempo: Rational| tempo.is_positive() && tempo <= Rational::whole(10_000);
        if !Rational::parse(text).is_some_and(usable) {
            let what = format!("the tempo “{text}” is no number; it was left out");
            self.find(home.part, Severity::Note, "tempo-unclear", what, "");
            return;
        }
        let place = self.place();
        let hints = &mut self.score.piece.sound_hints;
        if hints
            .iter()
            .rev()
            .take(2_000)
            .take_while(|hint| hint.place == place)
            .any(|hint| hint.get("tempo").is_some())
        {
            return;
        }
        self.score.taken += 1;
        hints.push(SoundHint {
            place,
            part: home.part,
            attributes: vec![("tempo".to_owned(), text.trim().to_owned())],
        });
    }

    /// `*ITrd1c2`: the interval from the sounding pitch, which the file gives, up to the written one.
    fn transposition(&mut self, cell: &Cell<'a>, home: Home, spine: usize, text: &str) {
        let number = |text: &str| text.parse::<i32>().ok().filter(|n| n.abs() <= 60);
        let parsed = text.strip_prefix('d').and_then(|rest| {
            let (diatonic, chromatic) = rest.split_once('c')?;
            Some((number(diatonic)?, number(chromatic)?))
        });
        let Some((diatonic, chromatic)) = parsed else {
            let what =
                format!("the transposition “{text}” is no interval; the part was read at concert pitch");
            self.find(
                home.part,
                Severity::Caution,
                "transposition-unclear",
                what,
                "tell which instrument the part is for",
            );
            return;
        };
        self.spines[spine].written_above = (diatonic, Rational::whole(i64::from(chromatic)));
        // Octaves apart, as other standards state it.
        let octaves = -diatonic / 7;
        let value = Transposition {
            diatonic: -diatonic - 7 * octaves,
            chromatic: Rational::whole(i64::from(-chromatic - 12 * octaves)),
            octaves,
            doubled: false,
        };
        let staff = self.staff(home);
        let transpositions = &self.parts[home.part].part.transpositions;
        let last = transpositions
            .iter()
            .rev()
            .take(FAR_BACK)
            .find(|change| change.staff == staff);
        if last.map_or_else(|| value.is_none(), |change| change.value == value) {
            return;
        }
        let change = self.change(cell, staff, value);
        self.parts[home.part].part.transpositions.push(change);
        self.transpose_early_key(home, spine);
    }

    /// A change of instrument among the music; those before it were read with the layout.
    fn instrument(&mut self, cell: &Cell<'a>, home: Home) {
        if !self.started {
            return;
        }
        let name = cell
            .text
            .strip_prefix("*I\"")
            .or_else(|| cell.text.strip_prefix("*I:"));
        let name = name.map(str::trim).or_else(|| {
            let code = instrument_code(cell.text)?;
            Some(instruments::named(code).map_or(code, |(name, _)| name))
        });
        let Some(name) = name else { return };
        let part = &self.parts[home.part].part;
        let signs = part
            .directions
            .iter()
            .rev()
            .filter_map(|direction| match &direction.kind {
                DirectionKind::Sign { name, text } if name == "instrument-change" => Some(text.as_str()),
                _ => None,
            });
        let now = signs
            .take(1)
            .next()
            .or(part.instrument_name.as_deref())
            .unwrap_or(&part.name);
        if now == name || part.name == name {
            return;
        }
        let kind = DirectionKind::Sign {
            name: "instrument-change".to_owned(),
            text: name.chars().take(200).collect(),
        };
        self.direct(cell, home, None, true, kind);
    }
}

/// A clef by what follows `*clef`: sign, octave marks (`v` down, `^` up), line.
fn clef(text: &str) -> Option<Clef> {
    let mut rest = text.chars();
    let sign = match rest.next()? {
        'G' => ClefSign::G,
        'F' => ClefSign::F,
        'C' => ClefSign::C,
        'X' => ClefSign::Percussion,
        'T' => ClefSign::Tab,
        '-' => ClefSign::None,
        _ => return None,
    };
    let rest = rest.as_str();
    let marks = rest.trim_end_matches(|c: char| c.is_ascii_digit());
    let line = &rest[marks.len()..];
    let octave_change = match marks {
        "" => 0,
        "v" => -1,
        "vv" => -2,
        "^" => 1,
        "^^" => 2,
        _ => return None,
    };
    let usual = match sign {
        ClefSign::G => 2,
        ClefSign::F => 4,
        ClefSign::C => 3,
        ClefSign::Tab => 5,
        _ => 0,
    };
    let line = if line.is_empty() || matches!(sign, ClefSign::Percussion | ClefSign::None) {
        usual
    } else {
        line.parse().ok().filter(|line| (1..=6).contains(line))?
    };
    Some(Clef {
        sign,
        line,
        octave_change,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Humdrum reference, tandem interpretations for clefs.
    #[test]
    fn clefs() {
        let code = |text| clef(text).map(|clef| clef.code());
        assert_eq!(code("G2").as_deref(), Some("G2"));
        assert_eq!(code("Gv2").as_deref(), Some("G28vb"));
        assert_eq!(code("G^2").as_deref(), Some("G28va"));
        assert_eq!(code("Fvv4").as_deref(), Some("F415mb"));
        assert_eq!(code("C1").as_deref(), Some("C1"));
        assert_eq!(code("G").as_deref(), Some("G2"));
        assert_eq!(code("X").as_deref(), Some("percussion"));
        assert_eq!(code("X2").as_deref(), Some("percussion"));
        assert_eq!(code("Q2"), None);
    }
}
