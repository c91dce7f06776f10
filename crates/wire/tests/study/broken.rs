//! Does every law catch what it is for? One thing is broken at a time.

use crate::case::{Case, case, pieces};
use crate::laws::LAWS;
use instruments::Experience;
use serde_json::{Value, json};

fn broken(with: impl Fn(&mut Value)) -> Vec<&'static str> {
    let (name, piece) = pieces()
        .into_iter()
        .find(|(name, _)| name == "kite_weather.musicxml")
        .unwrap();
    let mut case = case(&name, &piece, None, Experience::Student);
    assert_eq!(failing(&case), Vec::<&str>::new());
    with(&mut case.json);
    failing(&case)
}

fn failing(case: &Case) -> Vec<&'static str> {
    let fails = |law: fn(&Case, &mut Vec<String>)| {
        let mut faults = Vec::new();
        law(case, &mut faults);
        !faults.is_empty()
    };
    LAWS.iter()
        .filter(|(_, law)| fails(*law))
        .map(|(name, _)| *name)
        .collect()
}

#[test]
fn a_member_too_many_and_one_of_another_kind() {
    assert_eq!(broken(|json| json["player"]["shoe_size"] = json!(38)), ["schema"]);
    assert_eq!(
        broken(|json| json["player"]["breath_seconds"] = Value::Null),
        ["schema"]
    );
}

#[test]
fn a_number_that_is_none() {
    let (name, piece) = &pieces()[0];
    let mut case = case(name, piece, None, Experience::Student);
    case.debug.push_str("{ beat: 1.0, offset: NaN, why: [] }");
    assert_eq!(failing(&case), ["numbers"]);
    assert_eq!(
        broken(|json| json["levels"][0]["criteria"][0]["fits"] = json!(-0.0)),
        ["schema", "numbers"]
    );
}

#[test]
fn a_load_that_is_not_its_parts() {
    let found = broken(|json| {
        let amount = &mut json["load"][3]["parts"]["reading"][0]["amount"];
        *amount = json!(amount.as_f64().unwrap() + 1e-6);
    });
    assert_eq!(found, ["loads"]);
    let found = broken(|json| {
        let part = &mut json["load"][3]["parts"]["hand"][0]["beat_index"];
        *part = json!(part.as_u64().unwrap() + 1);
    });
    assert_eq!(found, ["loads"]);
    assert_eq!(
        broken(|json| json["load"][3]["in_words"] = json!("next to nothing")),
        ["loads"]
    );
}

#[test]
fn a_bar_that_does_not_exist_or_is_another() {
    assert_eq!(
        broken(|json| json["phrases"][0]["to_bar"] = json!("4711")),
        ["bars"]
    );
    assert_eq!(
        broken(|json| json["levels"][0]["bar"] = json!("1")),
        ["schema", "bars"]
    );
}

#[test]
fn a_beat_that_goes_back() {
    assert_eq!(
        broken(|json| json["fingering"][1]["beat"] = json!(0.5)),
        ["beats"]
    );
}

#[test]
fn a_breath_in_a_wrong_place() {
    let found = broken(|json| json["breaths"][0]["shortened"]["bar_index"] = json!(30));
    assert_eq!(found, ["bars", "breaths"]);
    assert_eq!(
        broken(|json| json["breaths"][0]["tempo"] = json!("middling")),
        ["breaths"]
    );
}

#[test]
fn spots_out_of_order_or_too_long() {
    let swap = |json: &mut Value| json["trouble_spots"].as_array_mut().unwrap().swap(0, 1);
    assert_eq!(broken(swap), ["spots"]);
    let longer = |json: &mut Value| {
        let from = json["trouble_spots"][0]["to_bar_index"].as_u64().unwrap() - 5;
        json["trouble_spots"][0]["from_bar_index"] = json!(from);
    };
    assert_eq!(broken(longer), ["bars", "spots"]);
}

#[test]
fn a_rung_between_the_marks() {
    assert_eq!(
        broken(|json| json["ladder"]["rungs"][0]["bpm"] = json!(41)),
        ["ladder"]
    );
}

#[test]
fn a_note_without_fingering() {
    let less = |json: &mut Value| drop(json["fingering"].as_array_mut().unwrap().pop());
    assert_eq!(broken(less), ["fingering"]);
    assert_eq!(
        broken(|json| json["fingering"][0]["basic"] = json!(false)),
        ["fingering"]
    );
    assert_eq!(
        broken(|json| json["fingering"][0]["reason"] = json!("it is nice")),
        ["fingering"]
    );
}

#[test]
fn a_tempo_of_somebody_else() {
    assert_eq!(
        broken(|json| json["tempo"]["first_reading"]["basis"] = json!("page")),
        ["first tempo"]
    );
}

#[test]
fn a_level_that_fits_what_exceeds_it() {
    let other = |json: &mut Value| {
        let fits = json["levels"][0]["fits"] == true;
        json["levels"][0]["fits"] = json!(!fits);
    };
    assert_eq!(broken(other), ["rest"]);
}
