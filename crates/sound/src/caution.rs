//! When should a player be reminded of the volume? Words and the published table, where sound can be loud for long.

/// A reminder with its table.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Reminder {
    /// What to say, in two or three sentences.
    pub words: &'static str,
    /// Level at the ear in dBA, and how long a day at most, in words.
    pub table: &'static [(u16, &'static str)],
    /// Where the table comes from.
    pub source: &'static str,
}

/// From so many seconds on, sound is long.
const LONG: f64 = 600.0;

const WORDS: &str = "Headphones can be louder than they seem, and a click or drone is easily turned up over one's own playing. \
Set the level with the instrument in hand, as low as still serves, and rest the ears when you rest the hands. \
Ringing or dullness afterwards means it was too loud or too long: ask a physician if it stays, and follow your teacher and local rules.";

/// Source: NIOSH recommended exposure limit (85 dBA for 8 hours, halved for each 3 dB), as printed in the NASM-PAMA student
/// sheet and NIOSH Workplace Solutions 2015; the sheet rounds (90 dBA is 2.5 h and 110 dBA a minute and a half by the rule).
const TABLE: [(u16, &str); 6] = [
    (85, "8 hours"),
    (88, "4 hours"),
    (90, "2 hours"),
    (94, "1 hour"),
    (100, "15 minutes"),
    (110, "2 minutes"),
];

/// The reminder, where the sound lasts ten minutes or more or goes round and round.
#[must_use]
pub fn reminder(seconds: f64, goes_on: bool) -> Option<Reminder> {
    (goes_on || seconds >= LONG).then_some(Reminder {
        words: WORDS,
        table: &TABLE,
        source: "NIOSH recommended exposure limit, after the NASM-PAMA student sheet and NIOSH Workplace Solutions (2015)",
    })
}

/// How long a day at a level, in hours, by the rule itself: T = 8 / 2^((L − 85) / 3).
#[must_use]
pub fn hours_at(dba: f64) -> f64 {
    8.0 / ((dba - 85.0) / 3.0).exp2()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_long_or_endless_sound_reminds() {
        assert!(reminder(60.0, false).is_none());
        assert!(reminder(60.0, true).is_some() && reminder(1_200.0, false).is_some());
    }

    /// Source: NIOSH: 3 dB exchange; the sheet's figures are the rule's within its rounding.
    #[test]
    fn the_table_follows_the_rule() {
        for (level, hours) in [(85.0, 8.0), (88.0, 4.0), (94.0, 1.0), (100.0, 0.25)] {
            assert!((hours_at(level) - hours).abs() < 0.01, "{level}");
        }
        assert!((hours_at(90.0) - 2.52).abs() < 0.01);
        assert!((hours_at(110.0) * 60.0 - 1.5).abs() < 0.05);
    }
}
