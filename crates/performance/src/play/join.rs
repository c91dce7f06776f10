//! One performance after another, with silence between: look-alikes back to back.

use super::clock::{Clock, Stretch};
use super::{Performance, PlayedBeat, PlayedKey, PlayedNote, Slot};
use notation::Quarters;

impl Performance {
    /// This one, then silence, then the other. In the silence no slot is played and no beat falls; it passes at the speed at
    /// which this one ends.
    #[must_use]
    pub fn then(mut self, silence: Quarters, other: Self) -> Self {
        let end = self.quarters();
        let later = end + silence;
        let slots = self.slots.len();
        let mut stretches: Vec<Stretch> = self.clock.stretches().to_vec();
        if let Some(last) = stretches.last().copied() {
            stretches.push(Stretch {
                from: last.to,
                to: later,
                start: last.end,
                end: last.end,
                pause: Quarters::ZERO,
            });
        }
        stretches.extend(other.clock.stretches().iter().map(|stretch| Stretch {
            from: stretch.from + later,
            to: stretch.to + later,
            ..*stretch
        }));
        self.clock = Clock::new(stretches);
        self.notes.extend(other.notes.into_iter().map(|note| PlayedNote {
            onset: note.onset + later,
            slot: note.slot + slots,
            ..note
        }));
        self.slots.extend(other.slots.into_iter().map(|slot| Slot {
            start: slot.start + later,
            ..slot
        }));
        self.beats.extend(other.beats.into_iter().map(|beat| PlayedBeat {
            at: beat.at + later,
            slot: beat.slot + slots,
            ..beat
        }));
        self.keys.extend(other.keys.into_iter().map(|key| PlayedKey {
            from: key.from + later,
            ..key
        }));
        self.tempo.extend(other.tempo);
        self.ornaments.extend(other.ornaments);
        for finding in other.findings {
            if !self.findings.contains(&finding) {
                self.findings.push(finding);
            }
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use crate::play::{PlayOptions, perform};
    use notation::Quarters;

    #[test]
    fn the_second_begins_after_the_silence_at_its_own_speed() {
        let played =
            |text: &str| perform(&notation::sketch(text).unwrap(), 0, &PlayOptions::default()).unwrap();
        let one = played("metre:2/4 mm:q=60 C5/q D5/q |");
        let two = played("metre:2/4 mm:q=120 E5/q F5/q |");
        let both = one.clone().then(Quarters::whole(2), two.clone());
        assert_eq!(both.notes.len(), 4);
        let (onset, _) = both.seconds_of(&both.notes[2]);
        assert!((onset - 4.0).abs() < 1e-9, "{onset}");
        let (last, _) = both.seconds_of(&both.notes[3]);
        assert!((last - 4.5).abs() < 1e-9, "{last}");
        assert!((both.seconds() - one.seconds() - two.seconds() - 2.0).abs() < 1e-9);
        assert_eq!(both.notes[3].slot, 1);
    }
}
