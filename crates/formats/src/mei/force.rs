//! What comes into force? Clef, key, metre, transposition, from attributes of a definition or from its elements.
//!
//! Source: MEI 5.0, clef, keySig, keyAccid, meterSig, meterSigGrp, att.staffDef.log, att.transposition; older names from
//! MEI 3.0 and 4.0 (`key.sig`, `key.mode`).

use super::values::{accidental, is_false};
use crate::xml::El;
use notation::{Clef, ClefSign, KeySignature, Metre, MetrePart, MetreSymbol, Rational, Step, Transposition};

/// A value and whether it is printed.
pub(super) type Shown<T> = (T, bool);

/// What one definition says.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Force {
    pub clef: Option<Shown<Clef>>,
    pub key: Option<Shown<KeySignature>>,
    pub metre: Option<Shown<Metre>>,
    pub transposition: Option<Transposition>,
    /// Bytes of the text where it stands.
    pub range: (u32, u32),
    /// What could not be understood.
    pub unclear: Vec<(&'static str, String)>,
}

impl Force {
    /// What this one leaves open is taken from a more general one.
    pub(super) fn or(&self, general: &Self) -> Self {
        let mut force = self.clone();
        force.clef = force.clef.or(general.clef);
        force.key = force.key.or_else(|| general.key.clone());
        force.metre = force.metre.or_else(|| general.metre.clone());
        force.transposition = force.transposition.or(general.transposition);
        force
    }

    /// True if it says nothing.
    pub(super) const fn is_empty(&self) -> bool {
        self.clef.is_none() && self.key.is_none() && self.metre.is_none() && self.transposition.is_none()
    }

    /// From a `scoreDef`, `staffDef` or `layerDef`.
    pub(super) fn of_definition(el: El<'_, '_>) -> Self {
        let mut force = Self {
            range: el.range(),
            ..Self::default()
        };
        force.clef_attributes(el);
        force.key_attributes(el);
        force.metre_attributes(el);
        force.transposition(el);
        for child in el.children() {
            force.element(child);
        }
        force
    }

    /// Takes a `clef`, `keySig`, `meterSig` or `meterSigGrp`; false if it is something else.
    pub(super) fn element(&mut self, el: El<'_, '_>) -> bool {
        match el.name() {
            "clef" => self.take_clef(
                el.attr("shape"),
                el.attr("line"),
                el.attr("dis"),
                el.attr("dis.place"),
                !is_false(el, "visible"),
            ),
            "clefGrp" => {
                if let Some(first) = el.child("clef") {
                    self.element(first);
                }
            }
            "keySig" => self.key_element(el),
            "meterSig" => {
                let shown = el.attr("form") != Some("invis") && !is_false(el, "visible");
                self.take_metre(
                    el.attr("count"),
                    el.attr("unit"),
                    el.attr("sym"),
                    el.attr("form"),
                    shown,
                );
            }
            "meterSigGrp" => self.metre_group(el),
            _ => return false,
        }
        true
    }

    fn clef_attributes(&mut self, el: El<'_, '_>) {
        if el.attr("clef.shape").is_some() {
            let shown = !is_false(el, "clef.visible");
            self.take_clef(
                el.attr("clef.shape"),
                el.attr("clef.line"),
                el.attr("clef.dis"),
                el.attr("clef.dis.place"),
                shown,
            );
        }
    }

    fn take_clef(
        &mut self,
        shape: Option<&str>,
        line: Option<&str>,
        dis: Option<&str>,
        dis_place: Option<&str>,
        shown: bool,
    ) {
        // Source: MEI 5.0, data.CLEFSHAPE: GG is a double G clef, an octave lower.
        let (sign, usual, lower) = match shape {
            Some("G") => (ClefSign::G, 2, 0),
            Some("GG") => (ClefSign::G, 2, -1),
            Some("F") => (ClefSign::F, 4, 0),
            Some("C") => (ClefSign::C, 3, 0),
            Some("perc") => (ClefSign::Percussion, 0, 0),
            Some("TAB") => (ClefSign::Tab, 5, 0),
            other => {
                self.unclear.push((
                    "clef-unclear",
                    format!("the clef “{}” is not known; it was left out", other.unwrap_or("")),
                ));
                return;
            }
        };
        let octaves = match dis {
            Some("8") => 1,
            Some("15") => 2,
            Some("22") => 3,
            _ => 0,
        };
        let octaves = if dis_place == Some("below") {
            -octaves
        } else {
            octaves
        };
        let line = line
            .and_then(|line| line.parse().ok())
            .filter(|line| (0..=12).contains(line));
        let clef = Clef {
            sign,
            line: line.unwrap_or(usual),
            octave_change: if octaves == 0 { lower } else { octaves },
        };
        self.clef = Some((clef, shown));
    }

    fn key_attributes(&mut self, el: El<'_, '_>) {
        let signature = el.attr("keysig").or(el.attr("key.sig"));
        let mode = el.attr("key.mode").or(el.attr("keysig.mode"));
        let shown = !["keysig.visible", "keysig.show", "key.sig.show"]
            .iter()
            .any(|name| is_false(el, name));
        if let Some(signature) = signature {
            let listed = listed(el.attr("key.sig.mixed").or(el.attr("keysig.mixed")));
            self.take_key(signature, mode, listed, shown);
        } else if let Some(name) = el.attr("key.pname") {
            self.named_key(name, el.attr("key.accid"), mode, shown);
        }
    }

    fn key_element(&mut self, el: El<'_, '_>) {
        let shown = !is_false(el, "visible");
        let mode = el.attr("mode");
        let listed: Vec<(Step, Rational)> = el
            .children()
            .filter(|child| child.name() == "keyAccid")
            .filter_map(|child| {
                let step = letter(child.attr("pname")?)?;
                Some((step, accidental(child.attr("accid")?).1?))
            })
            .take(20)
            .collect();
        let listed = if listed.is_empty() {
            self::listed(el.attr("sig.mixed"))
        } else {
            listed
        };
        match el.attr("sig") {
            Some(signature) => self.take_key(signature, mode, listed, shown),
            None if !listed.is_empty() => self.take_key("mixed", mode, listed, shown),
            None => match el.attr("pname") {
                Some(name) => self.named_key(name, el.attr("accid"), mode, shown),
                // A signature that cancels, or one that only says a mode.
                None => self.take_key("0", mode, listed, shown),
            },
        }
    }

    fn take_key(&mut self, signature: &str, mode: Option<&str>, listed: Vec<(Step, Rational)>, shown: bool) {
        let count = |sign: char| {
            signature
                .strip_suffix(sign)
                .and_then(|n| n.parse::<i8>().ok())
                .filter(|n| (0..=40).contains(n))
        };
        let fifths = match signature {
            "0" => Some(0),
            _ => count('s').or_else(|| count('f').map(|n| -n)),
        };
        let key = KeySignature {
            fifths,
            listed: if fifths.is_none() { listed } else { Vec::new() },
            declared_mode: mode.map(str::to_owned).filter(|mode| !mode.is_empty()),
        };
        if fifths.is_none() && key.listed.is_empty() {
            self.unclear.push((
                "key-unclear",
                format!(
                    "a key signature says “{}”; it was left out",
                    super::values::short(signature)
                ),
            ));
            return;
        }
        self.key = Some((key, shown));
    }

    /// A key said by its tonic: the signature follows from the mode.
    fn named_key(&mut self, name: &str, accid: Option<&str>, mode: Option<&str>, shown: bool) {
        let Some(step) = letter(name) else { return };
        let alter = accid.and_then(|accid| accidental(accid).1).unwrap_or_default();
        let away = match mode {
            Some("minor" | "aeolian") => -3,
            Some("dorian") => -2,
            Some("phrygian") => -4,
            Some("lydian") => 1,
            Some("mixolydian") => -1,
            Some("locrian") => -5,
            _ => 0,
        };
        let fifths = i64::from(step.fifths() + away) + 7 * alter.floor();
        let key = KeySignature {
            fifths: i8::try_from(fifths).ok(),
            listed: Vec::new(),
            declared_mode: mode.map(str::to_owned),
        };
        self.key = Some((key, shown));
    }

    fn metre_attributes(&mut self, el: El<'_, '_>) {
        let (count, unit, sym) = (
            el.attr("meter.count"),
            el.attr("meter.unit"),
            el.attr("meter.sym"),
        );
        if count.is_some() || sym.is_some() {
            let form = el.attr("meter.form").or(el.attr("meter.rend"));
            let shown =
                form != Some("invis") && !is_false(el, "meter.visible") && !is_false(el, "meter.showchange");
            self.take_metre(count, unit, sym, form, shown);
        }
    }

    fn take_metre(
        &mut self,
        count: Option<&str>,
        unit: Option<&str>,
        sym: Option<&str>,
        form: Option<&str>,
        shown: bool,
    ) {
        let symbol = match (sym, form) {
            (Some("common"), _) => MetreSymbol::Common,
            (Some("cut"), _) => MetreSymbol::Cut,
            (_, Some("num")) => MetreSymbol::SingleNumber,
            (_, Some("denomsym")) => MetreSymbol::Note,
            _ => MetreSymbol::Numbers,
        };
        let usual = match symbol {
            MetreSymbol::Common => Some((4, 4)),
            MetreSymbol::Cut => Some((2, 2)),
            _ => None,
        };
        let part = match (count, usual) {
            (None, Some((beats, beat_type))) => Some(MetrePart {
                groups: vec![beats],
                beat_type,
            }),
            (None, None) if sym == Some("open") => {
                self.metre = Some((
                    Metre {
                        parts: Vec::new(),
                        symbol: MetreSymbol::Senza,
                    },
                    shown,
                ));
                return;
            }
            (count, _) => metre_part(count.unwrap_or_default(), unit.unwrap_or("4")),
        };
        match part {
            Some(part) => {
                self.metre = Some((
                    Metre {
                        parts: vec![part],
                        symbol,
                    },
                    shown,
                ))
            }
            None => self.unclear.push((
                "metre-unclear",
                format!(
                    "the metre “{}/{}” is not a fraction; it was left out",
                    super::values::short(count.unwrap_or("")),
                    super::values::short(unit.unwrap_or(""))
                ),
            )),
        }
    }

    /// Several metres: one after the other in a bar where they are mixed; else the first is in force.
    fn metre_group(&mut self, el: El<'_, '_>) {
        let mut parts = Vec::new();
        let mut shown = true;
        for child in el.children().filter(|child| child.name() == "meterSig").take(16) {
            let mut one = Self::default();
            one.element(child);
            if let Some((metre, printed)) = one.metre {
                shown &= printed;
                parts.extend(metre.parts);
            }
            self.unclear.extend(one.unclear);
        }
        if el.attr("func") != Some("mixed") && parts.len() > 1 {
            let others: Vec<String> = parts
                .iter()
                .skip(1)
                .map(|part| {
                    Metre {
                        parts: vec![part.clone()],
                        symbol: MetreSymbol::Numbers,
                    }
                    .fraction()
                })
                .collect();
            self.unclear.push((
                "metre-alternates",
                format!(
                    "the metre is given with others beside it ({}); bars are counted by the first",
                    others.join(", ")
                ),
            ));
            parts.truncate(1);
        }
        if !parts.is_empty() {
            self.metre = Some((
                Metre {
                    parts,
                    symbol: MetreSymbol::Numbers,
                },
                shown,
            ));
        }
    }

    /// Source: MEI 5.0, att.transposition: what is "necessary to calculate the sounded pitch from the written pitch".
    fn transposition(&mut self, el: El<'_, '_>) {
        let read = |name: &str| {
            el.attr(name)
                .and_then(|text| text.parse::<i32>().ok())
                .filter(|n| n.abs() <= 200)
        };
        let (diatonic, semitones) = (read("trans.diat"), read("trans.semi"));
        if el.attr("trans.diat").is_some() && diatonic.is_none()
            || el.attr("trans.semi").is_some() && semitones.is_none()
        {
            self.unclear.push((
                "transposition-unclear",
                "a transposition that is no number of steps was left out".to_owned(),
            ));
        }
        if diatonic.is_none() && semitones.is_none() {
            return;
        }
        let (steps, semitones) = match (diatonic, semitones) {
            (Some(steps), Some(semitones)) => (steps, semitones),
            (None, semitones) => {
                let semitones = semitones.unwrap_or(0);
                let steps = usual_steps(semitones);
                if semitones != 0 {
                    self.unclear.push((
                        "transposition-guessed",
                        format!("the part sounds {semitones} semitones from where it is written; by how many letters is not said, {steps} were taken"),
                    ));
                }
                (steps, semitones)
            }
            (Some(steps), None) => (steps, usual_semitones(steps)),
        };
        // Whole octaves apart, as the page model keeps them.
        let octaves = semitones / 12;
        self.transposition = Some(Transposition {
            diatonic: steps - 7 * octaves,
            chromatic: Rational::whole(i64::from(semitones - 12 * octaves)),
            octaves,
            doubled: false,
        });
    }
}

/// The letter of a `pname`.
pub(super) fn letter(name: &str) -> Option<Step> {
    let mut chars = name.chars();
    let step = chars.next().and_then(Step::from_letter);
    if chars.next().is_none() { step } else { None }
}

/// The letters of a mixed signature listed in one attribute (`f4s b4f`, older `fs4 bf4`).
fn listed(tokens: Option<&str>) -> Vec<(Step, Rational)> {
    let one = |token: &str| {
        let step = letter(token.get(..1)?)?;
        let sign: String = token.chars().skip(1).filter(|c| !c.is_ascii_digit()).collect();
        Some((step, accidental(&sign).1?))
    };
    tokens
        .unwrap_or_default()
        .split_whitespace()
        .filter_map(one)
        .take(20)
        .collect()
}

fn metre_part(count: &str, unit: &str) -> Option<MetrePart> {
    let groups: Option<Vec<u16>> = count
        .split('+')
        .map(|group| group.trim().parse().ok().filter(|n| (1..=1_000).contains(n)))
        .collect();
    let unit = unit.strip_suffix(".0").unwrap_or(unit);
    let beat_type = unit.parse().ok().filter(|n| (1..=1_024).contains(n))?;
    Some(MetrePart {
        groups: groups.filter(|groups| groups.len() <= 64)?,
        beat_type,
    })
}

/// Letters moved by the usual spelling of so many semitones.
fn usual_steps(semitones: i32) -> i32 {
    const STEPS: [i32; 12] = [0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6];
    let size = semitones.unsigned_abs() as usize;
    let steps = STEPS[size % 12] + 7 * i32::try_from(size / 12).unwrap_or(0);
    if semitones < 0 { -steps } else { steps }
}

/// Semitones of a major or perfect interval of so many letters.
fn usual_semitones(steps: i32) -> i32 {
    const MAJOR: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];
    let size = steps.unsigned_abs() as usize;
    let semitones = MAJOR[size % 7] + 12 * i32::try_from(size / 7).unwrap_or(0);
    if steps < 0 { -semitones } else { semitones }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn intervals_without_their_letters() {
        assert_eq!(
            (usual_steps(-2), usual_steps(-9), usual_steps(-14), usual_steps(3)),
            (-1, -5, -8, 2)
        );
        assert_eq!(
            (usual_semitones(-1), usual_semitones(7), usual_semitones(-4)),
            (-2, 12, -7)
        );
    }

    #[test]
    fn keys_by_signature_and_by_tonic() {
        let mut force = Force::default();
        force.take_key("3f", Some("minor"), Vec::new(), true);
        assert_eq!(force.key.as_ref().and_then(|(key, _)| key.fifths), Some(-3));
        force.named_key("f", Some("s"), Some("minor"), true);
        assert_eq!(force.key.as_ref().and_then(|(key, _)| key.fifths), Some(3));
        force.named_key("d", Some("f"), Some("major"), true);
        assert_eq!(force.key.as_ref().and_then(|(key, _)| key.fifths), Some(-5));
    }
}
