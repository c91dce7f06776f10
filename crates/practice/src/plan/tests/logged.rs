//! Does what was logged change what comes next?

use super::super::*;
use super::{asked, day, span};
use crate::drill::DrillKind;

fn entry(
    date: &str,
    from: u32,
    to: u32,
    bpm: f64,
    clean: u32,
    felt: Felt,
    drill: Option<DrillKind>,
) -> (usize, Entry) {
    let entry = Entry {
        date: day(date),
        span: span(from, to),
        speed: Some(bpm),
        clean: Some(clean),
        felt: Some(felt),
        drill,
    };
    (0, entry)
}

/// A plan begun on 4 January, asked for on the 11th, with everything read and this much more in the log.
fn after(log: Vec<(usize, Entry)>) -> Plan {
    let mut asked = asked(24, "2027-01-04", "2027-03-20", 40);
    asked.today = day("2027-01-11");
    asked.log = vec![entry("2027-01-04", 0, 23, 63.0, 3, Felt::Steady, None)];
    asked.log.extend(log);
    plan(&asked).unwrap()
}

/// The first turn on the spot of bars 11 and 12 (indices 10, 11).
fn next(plan: &Plan) -> &Turn {
    plan.sittings
        .iter()
        .flat_map(|sitting| &sitting.turns)
        .find(|turn| {
            turn.bars == [span(10, 11)]
                && matches!(turn.kind, TurnKind::Spot | TurnKind::Climb | TurnKind::Keep)
        })
        .unwrap()
}

#[test]
fn what_is_logged_is_met_and_is_not_read_again() {
    let plan = after(Vec::new());
    assert!(
        plan.sittings
            .iter()
            .flat_map(|s| &s.turns)
            .all(|turn| turn.kind != TurnKind::Read)
    );
}

#[test]
fn clean_and_easy_goes_a_rung_on_and_stuck_goes_back() {
    let slow = |plan: &Plan| next(plan).tempi.first().map(|rung| rung.bpm);
    let on = after(vec![entry("2027-01-10", 10, 11, 84.0, 3, Felt::Easy, None)]);
    assert_eq!(slow(&on), Some(88), "{}", next(&on).why);
    assert!(next(&on).why.contains("a rung on"));
    let again = after(vec![entry("2027-01-10", 10, 11, 84.0, 2, Felt::Steady, None)]);
    assert_eq!(slow(&again), Some(84));
    let back = after(vec![entry("2027-01-10", 10, 11, 84.0, 0, Felt::Hard, None)]);
    assert_eq!(slow(&back), Some(76), "two rungs back");
}

#[test]
fn what_was_hard_comes_tomorrow_and_what_was_easy_later() {
    let when = |plan: &Plan| {
        plan.passages
            .iter()
            .find(|p| p.passage.span == span(10, 11))
            .unwrap()
            .next
            .unwrap()
    };
    let hard = after(vec![entry("2027-01-10", 10, 11, 84.0, 0, Felt::Hard, None)]);
    assert_eq!(when(&hard), day("2027-01-11"));
    let easy = after(vec![entry("2027-01-10", 10, 11, 84.0, 5, Felt::Easy, None)]);
    assert!(when(&easy) >= when(&hard));
}

#[test]
fn what_stalls_comes_by_another_drill() {
    let stuck: Vec<_> = ["2027-01-06", "2027-01-08", "2027-01-09"]
        .into_iter()
        .map(|date| entry(date, 10, 11, 80.0, 2, Felt::Hard, Some(DrillKind::HalfSpeed)))
        .collect();
    let plan = after(stuck);
    let turn = next(&plan);
    assert!(
        plan.passages
            .iter()
            .any(|p| p.progress.stuck && p.passage.span == span(10, 11))
    );
    assert_eq!(turn.kind, TurnKind::Spot);
    assert!(
        turn.drill.is_some() && turn.drill != Some(DrillKind::HalfSpeed),
        "{turn:?}"
    );
    assert!(turn.why.contains("another way"), "{}", turn.why);
}

#[test]
fn what_was_not_touched_lately_is_said_and_comes_by_another_drill() {
    let mut asked = asked(24, "2027-01-04", "2027-03-20", 40);
    asked.today = day("2027-01-25");
    asked.log = vec![
        entry("2027-01-04", 0, 23, 63.0, 3, Felt::Steady, None),
        entry(
            "2027-01-05",
            10,
            11,
            66.0,
            3,
            Felt::Steady,
            Some(DrillKind::HalfSpeed),
        ),
    ];
    let plan = plan(&asked).unwrap();
    let turn = next(&plan);
    assert_eq!(turn.why, "not touched since 5 Jan");
    assert!(turn.drill != Some(DrillKind::HalfSpeed));
}

#[test]
fn bars_that_the_log_does_not_know_are_met_first_even_late() {
    let mut asked = asked(24, "2027-01-04", "2027-03-20", 40);
    asked.today = day("2027-03-01");
    asked.log = vec![entry("2027-01-04", 0, 15, 63.0, 3, Felt::Steady, None)];
    let plan = plan(&asked).unwrap();
    let read: Vec<_> = plan.sittings[0]
        .turns
        .iter()
        .filter(|turn| turn.kind == TurnKind::Read)
        .collect();
    assert_eq!(read.first().map(|turn| turn.bars[0].from.0), Some(16));
}

/// Whatever else has waited longer: what went wrong yesterday is in today's sitting.
#[test]
fn what_stuck_yesterday_is_in_today_s_sitting() {
    let mut asked = asked(24, "2027-01-04", "2027-03-20", 15);
    asked.today = day("2027-01-14");
    asked.log = vec![
        entry("2027-01-04", 0, 23, 63.0, 3, Felt::Steady, None),
        entry("2027-01-13", 10, 11, 66.0, 0, Felt::Hard, None),
    ];
    let plan = plan(&asked).unwrap();
    assert!(
        plan.sittings[0]
            .turns
            .iter()
            .any(|turn| turn.bars == [span(10, 11)] && turn.kind.of_passage())
    );
}
