use super::{Legend, Most};
use crate::Matter;
use notation::{Anchor, Pencil, PencilColour, PencilMark, PencilSign, Place};

#[track_caller]
fn wrong(text: &str, line: usize, says: &str) {
    let error = Legend::parse(text).expect_err("a mistake");
    assert_eq!(error.line, line, "{error}");
    assert!(error.to_string().contains(says), "{error}");
    assert!(!error.advice.is_empty());
}

#[test]
fn what_is_left_out_is_as_usual() {
    let legend = Legend::parse("").expect("an empty legend");
    assert_eq!(legend, Legend::default());
    assert_eq!(legend.most, Most::At(8));
    assert_eq!(legend.rule(Matter::HardSpots).sign, PencilSign::SpotBracket);
    assert_eq!(legend.rule(Matter::Repeats).sign, PencilSign::RepeatHook);
}

#[test]
fn the_demo_legend_says_all_that_can_be_said() {
    let legend =
        Legend::parse(include_str!("../../../../demo/legends/fenwick.toml")).expect("the demo legend");
    assert_eq!(legend.most, Most::At(10));
    let first = legend.pencils.first.as_ref().expect("a first pencil");
    assert_eq!((first.name.as_str(), first.colour), ("red", PencilColour::Red));
    assert_eq!(legend.rule(Matter::HardSpots).pencil, Pencil::First);
    assert_eq!(legend.rule(Matter::Breaths).pencil, Pencil::Second);
    assert!(!legend.rule(Matter::Fingerings).wanted);
    assert_eq!(legend.rule(Matter::TempoChanges).sign, PencilSign::Words);
}

#[test]
fn every_mistake_is_told_with_its_line_and_what_to_write() {
    wrong("teacher = \"A\"\nmost_per_page = -1", 2, "or \"all\"");
    wrong("most_per_page = \"many\"", 1, "or \"all\"");
    wrong("most_per_page = 99999999999999999999", 1, "no number of marks");
    wrong("colour = \"red\"", 1, "nothing called “colour”");
    wrong("[marks]\nbreath = false", 2, "slow-breaths");
    wrong("[marks.breaths]\nsign = \"circle\"", 2, "take one of comma");
    wrong("[marks.breaths]\npencil = \"red\"", 2, "there are graphite");
    wrong("[marks.breaths]\nwanted = \"yes\"", 2, "true or false");
    wrong("[pencils.first]\nname = \"red\"", 1, "no colour");
    wrong(
        "[pencils.first]\ncolour = \"yellow\"",
        2,
        "red, blue, green, brown, violet",
    );
    wrong("[pencils.third]\ncolour = \"red\"", 1, "first, second");
    wrong(
        "[pencils]\nfirst = { colour = \"red\" }\nsecond = { colour = \"red\" }",
        1,
        "told apart",
    );
    wrong("\n\nteacher = \"A", 3, "line 3");
    wrong("marks = 3", 1, "[marks]");
    wrong(&format!("title = \"{}\"", "x".repeat(300)), 1, "fewer words");
}

#[test]
fn repeats_and_hard_spots_never_have_the_same_sign() {
    let same = "[marks.hard-spots]\nwords = \"slowly\"\n[marks.repeats]\nsign = \"brackets\"\n";
    wrong(same, 4, "a repeat must never look like a hard spot");
    // Exchanged they are told apart; and a sign that is not wanted can't be mistaken.
    Legend::parse("[marks.hard-spots]\nsign = \"hooks\"\n[marks.repeats]\nsign = \"brackets\"")
        .expect("exchanged");
    Legend::parse("[marks]\nhard-spots = false\n[marks.repeats]\nsign = \"brackets\"").expect("one alone");
}

#[test]
fn the_block_names_each_sign_once_and_only_what_is_used() {
    let legend = Legend::default();
    let at = Anchor {
        place: Place::default(),
        element: None,
    };
    let mark = |sign, matter: Matter| PencilMark {
        matter: matter.name().to_owned(),
        ..PencilMark::new(sign, at, "")
    };
    let (a, b) = (
        mark(PencilSign::Circle, Matter::TwoForms),
        mark(PencilSign::Circle, Matter::Enharmonics),
    );
    let c = mark(PencilSign::Breath, Matter::Breaths);
    let lines = legend.entries(&[&c, &a, &b, &a]);
    let told: Vec<_> = lines
        .iter()
        .map(|line| (line.sign, line.words.as_str()))
        .collect();
    assert_eq!(
        told,
        [
            (None, "What the pencil says"),
            (
                Some(PencilSign::Circle),
                "the same letter in another form just before; spelled in an unusual way: it is this note"
            ),
            (Some(PencilSign::Breath), "breathe"),
        ]
    );
}
