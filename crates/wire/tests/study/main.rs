//! Does the JSON of a study keep what it promises? Every demo piece for several players, and answers broken on purpose.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot set itself up has failed"
)]

mod broken;
mod case;
mod laws;
mod notes;
mod random;
mod schema;

use case::{Case, case, pieces};
use instruments::Experience;
use laws::faults;

fn check(cases: impl Iterator<Item = Case>) {
    let mut found = Vec::new();
    for case in cases {
        let faults = faults(&case).into_iter();
        found.extend(faults.map(|fault| format!("{}: {fault}", case.name)));
    }
    assert!(
        found.is_empty(),
        "{} faults, first:\n{}",
        found.len(),
        found[..found.len().min(20)].join("\n")
    );
}

#[test]
fn every_demo_piece_for_players_of_its_instrument() {
    let pieces = pieces();
    let all = pieces.iter().flat_map(|(name, piece)| {
        let one = move |level| case(name, piece, None, level);
        Experience::ALL.into_iter().map(one)
    });
    check(all);
}

/// What can stand in an answer stands in one of these, so that no law holds for want of cases.
const SEEN: [(&str, &str, &str); 13] = [
    ("fingering", "alternate", "true"),
    ("fingering", "held", ""),
    ("fingering", "as", ""),
    ("fingering", "tendency", ""),
    ("breaths", "kind", "\"breathe-out\""),
    ("breaths", "kind", "\"on-rest\""),
    ("breaths", "optional", "true"),
    ("breaths", "printed", "true"),
    ("bowings", "hooked", "true"),
    ("look_alikes", "how", "\"nearly\""),
    ("look_alikes", "how", "\"shifted-by-key\""),
    ("levels", "fits", "true"),
    ("levels", "fits", "false"),
];

fn is_seen(json: &serde_json::Value, (list, member, value): (&str, &str, &str)) -> bool {
    let all = json[list].as_array().into_iter().flatten();
    all.filter_map(|one| one.get(member))
        .any(|found| value.is_empty() || *found == serde_json::from_str::<serde_json::Value>(value).unwrap())
}

/// Strings have bowings, voices only breathe, valves and slides have other charts, a bass clarinet has none.
#[test]
fn every_demo_piece_for_players_of_other_instruments() {
    let others = [
        "violin",
        "trombone-tenor",
        "oboe",
        "clarinet-bb",
        "double-bass",
        "horn",
        "voice-soprano",
        "bass-clarinet",
    ];
    let others = others.map(|id| instruments::by_id(id).expect(id));
    let pieces = pieces();
    let all = pieces.iter().enumerate().flat_map(|(at, (name, piece))| {
        let three = [at * 3, at * 3 + 1, at * 3 + 2].map(|turn| others[turn % others.len()]);
        three.map(|other| case(name, piece, Some(other), Experience::Student))
    });
    let mut unseen: Vec<_> = SEEN.to_vec();
    let (mut gaps, mut trills) = (0, 0);
    let all = all.inspect(|case| {
        unseen.retain(|what| !is_seen(&case.json, *what));
        gaps += case.study.fingering.gaps.len();
        trills += case
            .study
            .fingering
            .trills
            .iter()
            .filter(|trill| trill.known)
            .count();
    });
    check(all);
    assert!(
        unseen.is_empty() && gaps > 0 && trills > 0,
        "never seen: {unseen:?}, gaps {gaps}, trills {trills}"
    );
}

#[test]
fn strings_have_bowings_and_winds_breathe() {
    let (name, piece) = &pieces()[0];
    let of = |id: &str| case(name, piece, instruments::by_id(id), Experience::Intermediate).json;
    let (violin, flute) = (of("violin"), of("flute"));
    assert!(
        violin["bowings"]
            .as_array()
            .is_some_and(|signs| !signs.is_empty())
    );
    assert!(violin["breaths"].as_array().is_some_and(Vec::is_empty));
    assert!(flute.get("bowings").is_none() && flute.get("bowings_more").is_none());
    assert!(
        flute["breaths"]
            .as_array()
            .is_some_and(|breaths| !breaths.is_empty())
    );
    assert_eq!(flute["player"]["instrument"], "flute");
}

#[test]
fn without_a_player_nothing_of_a_study_is_there() {
    let (name, piece) = &pieces()[0];
    let with = case(name, piece, None, Experience::Student);
    let json = with.without_study();
    let only_with: Vec<&String> = with.json.as_object().unwrap().keys().collect();
    let more = only_with.iter().filter(|key| json.get(key.as_str()).is_none());
    assert!(more.count() >= 11);
    for key in laws::OF_A_STUDY {
        assert!(json.get(key).is_none(), "{key}");
    }
    let first = &json["tempo"]["first_reading"];
    assert_eq!(first["basis"], "page");
    assert!(first.get("limits").is_none() && first.get("set_by_bar").is_none());
    assert_eq!(schema::misfits(&json), Vec::<String>::new());
}

/// What is asked beside it changes nothing in a study: its beats are said the same.
#[test]
fn a_study_is_whole_beside_a_single_question() {
    let (name, piece) = &pieces()[0];
    let whole = case(name, piece, None, Experience::Student);
    let json = whole.beside_the_key_alone();
    assert!(json.get("metre").is_none() && json.get("tempo").is_none());
    for key in laws::OF_A_STUDY {
        assert_eq!(json.get(key), whole.json.get(key), "{key}");
    }
}
