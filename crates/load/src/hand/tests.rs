//! Hand load on lines short enough to read aloud, and its laws.
use super::*;
use crate::account::by_bar;
use instruments::Experience;

fn load(text: &str, instrument: &str, speed: f64, change: impl Fn(&mut Player)) -> Vec<Placed> {
    let piece = notation::sketch(text).expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let mut player = Player::usual(instruments::by_id(instrument), Experience::Intermediate);
    change(&mut player);
    let notes = Notes::of(&ctx);
    let signs = survey::phrases::signs(&ctx, &notes);
    let pace = Pace::steady(speed);
    let hand = Hand {
        pace: &pace,
        signs: &signs,
        finger_shares: &[],
    };
    hand_load(&ctx, &player, &hand)
}

fn of_kind<'a>(shares: &'a [Placed], kind: &str) -> Vec<&'a str> {
    shares
        .iter()
        .filter(|s| s.share.kind == kind)
        .map(|s| s.share.why.as_str())
        .collect()
}

const RUN: &str =
    "metre:4/4 C5/s D5/s E5/s F5/s G5/s F5/s E5/s D5/s C5/s D5/s E5/s F5/s G5/s F5/s E5/s D5/s | C5/w";

#[test]
fn a_leap_says_how_far_and_where_to() {
    let shares = load("metre:4/4 D4/q Bb2/q C3/q D3/q", "bassoon", 100.0, |_| {});
    assert_eq!(of_kind(&shares, "leap"), ["a leap of a tenth down to B♭2"]);
    assert!(
        load("metre:4/4 D4/q r/h Bb2/q", "bassoon", 60.0, |_| {})
            .iter()
            .all(|s| s.share.kind != "leap"),
        "a rest gives time"
    );
}

/// Source: practice facts: burst and sustained tongue differ; double tonguing for flute and brass.
#[test]
fn the_tongue_is_held_against_the_players() {
    let fast = load(RUN, "trumpet-bb", 132.0, |_| {});
    let words = of_kind(&fast, "tongue-too-fast");
    assert!(words.iter().all(|w| w.starts_with("8.8 tongued notes a second") && w.contains("double tonguing would do it")), "{words:?}");
    let reed = load(RUN, "clarinet-bb", 132.0, |_| {});
    assert!(
        of_kind(&reed, "tongue-too-fast")
            .iter()
            .all(|w| !w.contains("double")),
        "reeds are not told to double"
    );
    let doubles = load(RUN, "trumpet-bb", 132.0, |p| p.tongue.multiple = true);
    assert!(of_kind(&doubles, "tongue-too-fast").is_empty());
    assert!(
        of_kind(&doubles, "tongue")
            .iter()
            .any(|w| w.contains("double tonguing"))
    );
    let slurred = load(
        &RUN.replace("metre:4/4 C5/s", "metre:4/4 ( C5/s")
            .replace("D5/s | C5/w", "D5/s | C5/w )"),
        "trumpet-bb",
        132.0,
        |_| {},
    );
    assert!(
        slurred.iter().all(|s| !s.share.kind.starts_with("tongue")),
        "slurred notes don't count"
    );
}

/// Source: Wikibooks, Trombone/Slide Positions: B♭2 is the second partial in first position, B♭3 the fourth, F4 the sixth.
#[test]
fn lips_leap_by_partials() {
    let shares = load(
        "clef:F4 metre:4/4 Bb2/q Bb3/q F4/q F4/q",
        "trombone-tenor",
        100.0,
        |_| {},
    );
    assert_eq!(
        of_kind(&shares, "lip-leap"),
        ["over 1 partial up to B♭3", "over 1 partial up to F4"]
    );
    // Trumpet: written C4 second, G4 third, C5 fourth, E5 fifth partial.
    let steps = load(
        "trans:-1,-2 metre:4/4 C4/q G4/q C5/q E5/q",
        "trumpet-bb",
        100.0,
        |_| {},
    );
    assert!(of_kind(&steps, "lip-leap").is_empty(), "{steps:?}");
    let slurred = load(
        "trans:-1,-2 metre:4/4 ( C4/q E5/q ) C4/h",
        "trumpet-bb",
        100.0,
        |_| {},
    );
    assert_eq!(
        of_kind(&slurred, "lip-leap"),
        ["slurred over 2 partials up to E5", "over 2 partials down to C4"]
    );
}

#[test]
fn the_clarinet_break_is_named() {
    let shares = load("metre:4/4 A4/q B4/q C5/q D5/q", "clarinet-bb", 100.0, |_| {});
    assert_eq!(of_kind(&shares, "register-break"), ["over the break up to B4"]);
}

#[test]
fn strings_cross_and_shift() {
    let first = load(
        "metre:4/4 A4/e B4/e C#5/e D5/e E5/e F#5/e G#5/e A5/e",
        "violin",
        100.0,
        |_| {},
    );
    assert!(of_kind(&first, "shift").is_empty(), "{first:?}");
    assert_eq!(of_kind(&first, "string-crossing").len(), 1);
    let high = load(
        "metre:4/4 A3/e B3/e C#4/e A6/e G#6/e E6/e C#4/e A3/e",
        "violin",
        100.0,
        |_| {},
    );
    assert!(!of_kind(&high, "shift").is_empty());
    let skip = load("metre:4/4 G3/e F#5/e G3/e F#5/e G3/h", "violin", 100.0, |_| {});
    assert!(
        of_kind(&skip, "string-crossing")
            .iter()
            .any(|w| w.starts_with("over 2 strings")),
        "{skip:?}"
    );
}

#[test]
fn what_is_out_of_range_or_far_from_the_staff_is_said() {
    let shares = load("clef:G2 metre:4/4 C5/q F7/q C5/h", "flute", 80.0, |_| {});
    assert!(of_kind(&shares, "outside-range")[0].starts_with("F7 lies above the range"));
    assert_eq!(of_kind(&shares, "ledger-lines"), ["F7 on 7 ledger lines"]);
}

#[test]
fn fingers_are_added_at_the_tempo() {
    let piece = notation::sketch("metre:4/4 C5/q D5/q E5/q F5/q").expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let player = Player::usual(instruments::by_id("oboe"), Experience::Professional);
    let finger = Placed {
        place: piece.parts[0].events[1].place,
        share: Share {
            kind: "fingers",
            why: "two fingers".to_owned(),
            amount: 2.0,
        },
    };
    let signs = vec![Signs::default(); 4];
    let amount = |speed: f64| {
        let pace = Pace::steady(speed);
        let hand = Hand {
            pace: &pace,
            signs: &signs,
            finger_shares: std::slice::from_ref(&finger),
        };
        hand_load(&ctx, &player, &hand)[0].share.amount
    };
    // Two movements in a bar of four seconds; twice the tempo is twice the load.
    assert!((amount(60.0) - 0.5).abs() < 1e-9);
    assert!((amount(120.0) - 1.0).abs() < 1e-9);
}

proptest::proptest! {
    /// A faster tempo never lightens a bar, and every share can be said.
    #[test]
    fn faster_is_never_lighter(pitches in proptest::collection::vec(0usize..8, 4..24), slow in 40.0_f64..120.0, more in 1.0_f64..2.0, which in 0usize..4) {
        let names = ["C5/e", "D5/e", "G4/e", "C6/e", "A4/e", "Bb4/e", "E5/e", "F4/e"];
        let bars: Vec<String> = pitches.chunks(8).map(|bar| bar.iter().map(|p| names[*p]).collect::<Vec<_>>().join(" ")).collect();
        let text = format!("metre:4/4 {}", bars.join(" | "));
        let instrument = ["flute", "clarinet-bb", "trumpet-bb", "violin"][which];
        let (slowly, fast) = (load(&text, instrument, slow, |_| {}), load(&text, instrument, slow * more, |_| {}));
        let total = |shares: &[Placed]| by_bar(shares, bars.len()).iter().map(crate::Account::total).collect::<Vec<_>>();
        for (a, b) in total(&slowly).iter().zip(total(&fast)) {
            proptest::prop_assert!(b >= a - 1e-9, "{a} {b}");
        }
        proptest::prop_assert!(fast.iter().all(|s| !s.share.why.is_empty() && s.share.amount > 0.0));
    }
}
