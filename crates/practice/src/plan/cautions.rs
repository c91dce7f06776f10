//! What must be said so that practising does no harm? In full once a term, a line in between.

use super::asked::Date;
use instruments::Family;

/// Days of a term, after which the cautions are said in full again. Common practice: a quarter of a year.
const TERM: i64 = 91;
/// Days that the full cautions stand.
const WEEK: i64 = 7;

/// Pain, fatigue. Source: The Musician's Way, p. 75; Horvath, Playing (Less) Hurt.
const PAIN: &str =
    "Pain means stop: ask your teacher and a physician before you go on. Numbness or tingling, too.";
/// Source: Horvath, Playing (Less) Hurt: ten minutes an hour, a day a week.
const FATIGUE: &str = "Fatigue means rest, even in the middle of a sitting: at least ten minutes in every hour, and a day off each week. \
                       After time off begin with half.";
/// Source: NIOSH, Workplace Solutions 2015: 85 dBA for eight hours, half the time for every 3 dB more.
const EARS: &str = "Loud practice in a small room harms hearing within hours (at 94 dB within one, at 100 dB within a quarter of one): keep \
                    some distance from the wall, leave pauses, and wear ear protection made for musicians. Ringing ears mean stop.";
/// Source: common practice.
const TEETH: &str = "New braces, or dental work: no playing until dentist or orthodontist agree, then a few minutes at a time; tell \
                     your teacher.";
/// Source: common practice.
const LIPS: &str = "The lips rest as long as they play: fingering, singing and listening count. High notes last, and never pressed.";
/// Source: common practice.
const BREATH: &str = "Dizziness means breathe normally and sit down.";
/// Copying.
const COPIES: &str = "Copying printed music is a matter of local law: ask before you copy a page.";
/// What the whole is worth.
const PROPOSAL: &str = "All of this is a proposal: your teacher decides.";

/// The line in between.
pub const LINE: &str = "Pain means stop and ask; fatigue means rest; ringing ears mean stop. Your teacher decides. (In full on the first page of the term.)";

/// The cautions in full.
#[must_use]
pub fn full(family: Option<Family>) -> Vec<&'static str> {
    let mut all = vec![PAIN, FATIGUE];
    let wind = family.is_none_or(|family| family.is_wind());
    if family == Some(Family::Brass) {
        all.push(LIPS);
    }
    if wind {
        all.push(TEETH);
        all.push(BREATH);
    }
    all.push(EARS);
    all.push(COPIES);
    all.push(PROPOSAL);
    all
}

/// Whether they are said in full on a page that begins on a day: on the first of the plan, and once a term.
#[must_use]
pub fn in_full_on(begun: Date, day: Date) -> bool {
    (day - begun).num_days().rem_euclid(TERM) < WEEK
}

/// What belongs on a page that begins on a day.
#[must_use]
pub fn on_page(family: Option<Family>, begun: Date, day: Date) -> Vec<&'static str> {
    if in_full_on(begun, day) {
        full(family)
    } else {
        vec![LINE]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn in_full_once_a_term() {
        let day = |text: &str| -> Date { text.parse().unwrap() };
        let begun = day("2027-01-04");
        let full_weeks = (0..26)
            .filter(|week| in_full_on(begun, begun + chrono::Days::new(week * 7)))
            .count();
        assert_eq!(full_weeks, 2, "twice in half a year");
        assert!(in_full_on(begun, begun));
        assert_eq!(on_page(None, begun, day("2027-01-18")), [LINE]);
    }

    #[test]
    fn each_thing_that_can_hurt_is_named() {
        let said = full(Some(Family::Brass)).join(" ");
        for word in [
            "Pain",
            "physician",
            "Fatigue",
            "braces",
            "dental",
            "hearing",
            "lips",
            "law",
            "teacher",
        ] {
            assert!(said.contains(word), "{word}");
        }
        assert!(!full(Some(Family::String)).join(" ").contains("braces"));
    }
}
