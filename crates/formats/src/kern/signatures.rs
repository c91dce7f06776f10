//! Which key comes into force? Signatures as they are written for the part, with the mode declared beside them.

use super::key::{self, Designation};
use super::layout::Home;
use super::part::Reader;
use super::scan::Cell;
use super::tandem::FAR_BACK;
use notation::{DirectionKind, How, KeySignature, Severity};

impl<'a> Reader<'a, '_> {
    /// Reads a signature by what follows `*k[`.
    pub(super) fn signature(&mut self, cell: &Cell<'a>, home: Home, spine: usize, inside: &str) {
        let Some(signature) = inside.split(']').next().and_then(key::signature) else {
            let what = format!(
                "the key signature “{}” names no letters with their signs; it was left out",
                cell.text
            );
            self.find(
                home.part,
                Severity::Caution,
                "key-unclear",
                what,
                "read the signature on the page",
            );
            return;
        };
        let (diatonic, chromatic) = self.spines[spine].written_above;
        self.spines[spine].has_signature = true;
        self.put_key(cell, home, key::transposed(signature, diatonic, chromatic));
        self.join_designation(home, spine);
    }

    /// Adds a signature, unless it is in force already.
    fn put_key(&mut self, cell: &Cell<'a>, home: Home, key: KeySignature) {
        let staff = self.staff(home);
        let in_force = self.parts[home.part]
            .part
            .keys
            .iter()
            .rev()
            .take(FAR_BACK)
            .find(|change| change.staff == staff);
        if in_force
            .is_some_and(|change| (change.value.fifths, &change.value.listed) == (key.fifths, &key.listed))
        {
            return;
        }
        let change = self.change(cell, staff, key);
        self.parts[home.part].part.keys.push(change);
    }

    /// A designation beside its usual signature is the mode it declares. Beside another (D minor with no flat, as older
    /// music has it) a mode would mean another tonic: then it is kept as a sign.
    pub(super) fn join_designation(&mut self, home: Home, spine: usize) {
        let Some((place, designation, _)) = self.spines[spine].designation else {
            return;
        };
        let staff = self.staff(home);
        let (diatonic, chromatic) = self.spines[spine].written_above;
        let usual = designation
            .usual()
            .map(|usual| key::transposed(usual, diatonic, chromatic).fifths);
        let keys = &mut self.parts[home.part].part.keys;
        let here = keys
            .iter_mut()
            .rev()
            .take(FAR_BACK)
            .find(|change| change.staff == staff);
        let here = here.filter(|change| change.place == place && usual == Some(change.value.fifths));
        if let Some(change) = here {
            change.value.declared_mode = Some(designation.mode.to_owned());
            self.spines[spine].designation = None;
        }
    }

    /// What became of a designation that no signature came with: at the start it implies one, later it is analysis.
    pub(super) fn settle_designation(&mut self, cell: &Cell<'a>, home: Home, spine: usize) {
        let Some((place, designation, at)) = self.spines[spine].designation.take() else {
            return;
        };
        let cell = Cell {
            at,
            text: "",
            ..*cell
        };
        (self.bar, self.offset) = (place.bar, place.offset);
        if self.spines[spine].has_signature {
            let kind = DirectionKind::Sign {
                name: "key".to_owned(),
                text: designation.name(),
            };
            self.direct(&cell, home, None, false, kind);
            return;
        }
        self.spines[spine].has_signature = true;
        self.guess_signature(&cell, home, spine, designation);
    }

    fn guess_signature(&mut self, cell: &Cell<'a>, home: Home, spine: usize, designation: Designation) {
        let Some(usual) = designation.usual() else { return };
        let (diatonic, chromatic) = self.spines[spine].written_above;
        let key = KeySignature {
            declared_mode: Some(designation.mode.to_owned()),
            ..key::transposed(usual, diatonic, chromatic)
        };
        let staff = self.staff(home);
        let change = self.change(cell, staff, key);
        self.score.piece.provenance.origins.entry(change.id).how = How::Guessed;
        self.parts[home.part].part.keys.push(change);
        self.find(
            home.part,
            Severity::Caution,
            "signature-guessed",
            format!(
                "the file names the key, {}, but no signature; its usual one was taken",
                designation.name()
            ),
            "compare the signature on the page",
        );
    }

    /// A signature that stands before the transposition at the same place was given as it sounds.
    pub(super) fn transpose_early_key(&mut self, home: Home, spine: usize) {
        let (place, staff) = (self.place(), self.staff(home));
        let (diatonic, chromatic) = self.spines[spine].written_above;
        let keys = &mut self.parts[home.part].part.keys;
        if let Some(change) = keys
            .last_mut()
            .filter(|change| change.place == place && change.staff == staff)
        {
            change.value = key::transposed(change.value.clone(), diatonic, chromatic);
        }
    }
}
