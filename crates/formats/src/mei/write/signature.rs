//! How are a clef, a key and a metre said? The element for each, with the change's id.

use super::xml::Node;
use super::{Writer, names};
use notation::{Change, Clef, ClefSign, KeySignature, Metre, MetrePart, MetreSymbol, Transposition};

/// Modes that MEI has names for. Source: MEI 5, `data.MODE`.
const MODES: [&str; 15] = [
    "major",
    "minor",
    "dorian",
    "hypodorian",
    "phrygian",
    "hypophrygian",
    "lydian",
    "hypolydian",
    "mixolydian",
    "hypomixolydian",
    "peregrinus",
    "ionian",
    "aeolian",
    "locrian",
    "hypoaeolian",
];

/// The id of a change on one of the staves it is for: its own on the first, one made from it on the others.
fn change_id<T>(change: &Change<T>, copy: Option<u8>) -> String {
    match copy {
        None => change.id.to_string(),
        Some(staff) => format!("{}-{staff}", change.id),
    }
}

fn element<T>(name: &'static str, change: &Change<T>, copy: Option<u8>, staves: u8) -> Node {
    let mut node = Node::new(name).id(change_id(change, copy));
    if copy.is_some() {
        // The same change on a further staff.
        node.set("corresp", format!("#{}", change.id));
    }
    if staves == 1 && change.staff.is_some() {
        node.tag("this-staff");
    }
    if !change.printed {
        node.set("visible", "false");
    }
    node
}

impl Writer<'_> {
    pub(super) fn clef(&mut self, part: usize, change: &Change<Clef>, copy: Option<u8>, staves: u8) -> Node {
        let mut node = element("clef", change, copy, staves);
        let clef = change.value;
        let shape = match clef.sign {
            ClefSign::G => "G",
            ClefSign::F => "F",
            ClefSign::C => "C",
            ClefSign::Percussion => "perc",
            ClefSign::Tab => "TAB",
            // Neither is a clef of MEI: nothing is drawn, and the word says what it was.
            ClefSign::Jianpu | ClefSign::None => "G",
        };
        node.set("shape", shape);
        if clef.line > 0 {
            node.set("line", clef.line);
        } else if matches!(clef.sign, ClefSign::Jianpu | ClefSign::None) {
            node.set("line", 2);
            node.tag("line-0");
        }
        if matches!(clef.sign, ClefSign::Jianpu | ClefSign::None) {
            node.set("visible", "false");
            node.tag(if clef.sign == ClefSign::None {
                "no-clef"
            } else {
                "jianpu"
            });
            if change.printed {
                node.tag("printed");
            }
        }
        let dis = match clef.octave_change.unsigned_abs() {
            0 => return node,
            1 => "8",
            2 => "15",
            3 => "22",
            _ => {
                self.lost(
                    part,
                    change.place,
                    "a clef with an octave mark that MEI does not have was written without it",
                );
                return node;
            }
        };
        node.set("dis", dis);
        node.set(
            "dis.place",
            if clef.octave_change > 0 { "above" } else { "below" },
        );
        node
    }

    pub(super) fn key(
        &mut self,
        part: usize,
        change: &Change<KeySignature>,
        copy: Option<u8>,
        staves: u8,
    ) -> Node {
        let mut node = element("keySig", change, copy, staves);
        let key = &change.value;
        match key.fifths {
            Some(0) => node.set("sig", "0"),
            Some(n @ 1..=12) => node.set("sig", format!("{n}s")),
            Some(n @ -12..=-1) => node.set("sig", format!("{}f", n.unsigned_abs())),
            Some(n) => {
                self.lost(
                    part,
                    change.place,
                    format!("a key signature of {n} fifths is beyond MEI"),
                );
                node.set("sig", "0");
            }
            None if key.listed.is_empty() => node.set("sig", "mixed"),
            None => {}
        }
        if let Some(mode) = &key.declared_mode {
            if MODES.contains(&mode.as_str()) {
                node.set("mode", mode);
            } else {
                node.set("label", format!("mode: {mode}"));
            }
        }
        for (step, alter) in &key.listed {
            let letter = step.letter().to_ascii_lowercase();
            let mut accid = Node::new("keyAccid").attr("pname", letter);
            match names::key_accidental(*alter) {
                Some(sign) => accid.set("accid", sign),
                None => {
                    self.lost(
                        part,
                        change.place,
                        "a key signature has an alteration that MEI has no sign for",
                    );
                    continue;
                }
            }
            node.push(accid);
        }
        node
    }

    pub(super) fn metre(&mut self, change: &Change<Metre>, copy: Option<u8>, staves: u8) -> Node {
        let metre = &change.value;
        let one = |node: Node, part: Option<&MetrePart>| -> Node {
            let mut node = node;
            if let Some(part) = part {
                let groups: Vec<String> = part.groups.iter().map(u16::to_string).collect();
                node.set("count", groups.join("+"));
                node.set("unit", part.beat_type);
            }
            match metre.symbol {
                MetreSymbol::Numbers => {}
                MetreSymbol::Common => node.set("sym", "common"),
                MetreSymbol::Cut => node.set("sym", "cut"),
                MetreSymbol::SingleNumber => node.set("form", "num"),
                MetreSymbol::Note => node.set("form", "denomsym"),
                MetreSymbol::Senza => node.set("sym", "open"),
            }
            node
        };
        match metre.parts.as_slice() {
            [] | [_] => {
                let mut node = one(element("meterSig", change, copy, staves), metre.parts.first());
                if metre.symbol == MetreSymbol::Senza {
                    // No sign is printed for it.
                    node.set("visible", "false");
                    if change.printed {
                        node.tag("printed");
                    }
                }
                node
            }
            several => {
                let mut group = element("meterSigGrp", change, copy, staves).attr("func", "mixed");
                for part in several {
                    group.push(one(Node::new("meterSig"), Some(part)));
                }
                group
            }
        }
    }

    /// Sets the transposition on a `staffDef`.
    pub(super) fn transposition(
        &mut self,
        part: usize,
        change: &Change<Transposition>,
        copy: Option<u8>,
        staves: u8,
        node: &mut Node,
    ) {
        let value = change.value;
        let semitones = value.semitones();
        if !semitones.is_whole() || value.octaves.abs() > 20 {
            self.lost(
                part,
                change.place,
                "a transposition by a part of a semitone was left out",
            );
            return;
        }
        let octaves = value.octaves;
        node.set("trans.diat", i64::from(value.diatonic) + 7 * i64::from(octaves));
        node.set("trans.semi", semitones.num());
        // How many of these are octaves, where it is not as many as there can be.
        if i64::from(octaves) != semitones.num() / 12 {
            node.tag(format!("octaves.{octaves}"));
        }
        if value.doubled {
            node.tag("octave-doubled");
        }
        if staves == 1 && change.staff.is_some() {
            node.tag("transposition-this-staff");
        }
        if copy.is_some() {
            node.tag("transposition-copied");
        }
        if !change.printed {
            node.tag("transposition-unprinted");
        }
    }
}
