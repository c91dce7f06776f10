//! Do published rules of choosing come out of the cheapest path? Each with its source, with our prices and with every
//! price a quarter higher and lower.

use super::{Options, Weights, answer_with};
use crate::Player;
use instruments::Experience;
use survey::Context;

/// A rule as a short passage.
struct Rule {
    says: &'static str,
    source: &'static str,
    instrument: &'static str,
    /// Pitches, played as even notes.
    passage: &'static str,
    /// Which note of the passage, from 0, and the fingerings that follow the rule.
    expects: &'static [(usize, &'static [&'static str])],
    /// Another way to follow it, the notes taken together; may be empty.
    or: &'static [(usize, &'static [&'static str])],
}

const RULES: &[Rule] = &[
    Rule {
        says: "fork F♯ next to F",
        source: "banddirectorstalkshop.com, fork F♯ and side C",
        instrument: "alto-sax",
        passage: "F4 F#4 F4",
        expects: &[(1, &["fork"])],
        or: &[],
    },
    Rule {
        says: "plain F♯ if D is next to it too",
        source: "banddirectorstalkshop.com, fork F♯ and side C",
        instrument: "alto-sax",
        passage: "D4 F#4 F4",
        expects: &[(1, &["plain"])],
        or: &[],
    },
    Rule {
        says: "plain G♭ if E♭ is next to it too",
        source: "banddirectorstalkshop.com, fork F♯ and side C",
        instrument: "alto-sax",
        passage: "F4 Gb4 Eb4",
        expects: &[(1, &["plain"])],
        or: &[],
    },
    Rule {
        says: "side C next to B",
        source: "banddirectorstalkshop.com; saxophone course, lesson 8",
        instrument: "alto-sax",
        passage: "B4 C5 B4",
        expects: &[(1, &["side"])],
        or: &[],
    },
    Rule {
        says: "side B♭ in chromatic passages",
        source: "palmkeys.blogspot.com, 22 February 2015; bandencyclopedia.com, side B♭",
        instrument: "alto-sax",
        passage: "A4 Bb4 B4 Bb4 A4",
        expects: &[(1, &["side"]), (3, &["side"])],
        or: &[],
    },
    Rule {
        says: "bis, or one-and-four, between F and B♭",
        source: "palmkeys.blogspot.com, 22 February 2015",
        instrument: "alto-sax",
        passage: "F4 Bb4 F4 Bb4",
        expects: &[(1, &["bis", "one-and-four"]), (3, &["bis", "one-and-four"])],
        or: &[],
    },
    Rule {
        says: "front E from C",
        source: "P. Coats, Using the High F♯ Key",
        instrument: "alto-sax",
        passage: "C6 E6 C6",
        expects: &[(1, &["front"])],
        or: &[],
    },
    Rule {
        says: "front F from C",
        source: "P. Coats; tamingthesaxophone.com, alternate fingerings",
        instrument: "alto-sax",
        passage: "C6 F6 C6",
        expects: &[(1, &["front"])],
        or: &[],
    },
    Rule {
        says: "regular F where the right ring finger is free",
        source: "P. Mitchell, oboeinsight.com, 29 July 2006; oboealli.com",
        instrument: "oboe",
        passage: "E4 F4 G4 F4 E4",
        expects: &[(1, &["regular"]), (3, &["regular"])],
        or: &[],
    },
    Rule {
        says: "left F next to D",
        source: "P. Mitchell, oboeinsight.com, 29 July 2006; oboealli.com",
        instrument: "oboe",
        passage: "D4 F4 D4",
        expects: &[(1, &["left"])],
        or: &[],
    },
    Rule {
        says: "forked F between D and a note of the left little finger",
        source: "P. Mitchell, oboeinsight.com, 29 July 2006; woodwind.org oboe board, 23 October 2006 (A♭ F D)",
        instrument: "oboe",
        passage: "Ab4 F4 D4",
        expects: &[(1, &["forked"])],
        or: &[],
    },
    Rule {
        says: "left D♯ after C♯ in B major",
        source: "woodwind.org oboe board, 28 January 2008",
        instrument: "oboe",
        passage: "B3 C#4 D#4",
        expects: &[(2, &["left"])],
        or: &[],
    },
    Rule {
        says: "little fingers alternate from C to C♯",
        source: "School Band & Orchestra, May 2014, clarinet alternations",
        instrument: "clarinet-bb",
        passage: "C5 C#5 C5 C#5",
        expects: &[(0, &["right"]), (1, &["left"]), (2, &["right"]), (3, &["left"])],
        or: &[(0, &["left"]), (1, &["right"]), (2, &["left"]), (3, &["right"])],
    },
    Rule {
        says: "E right, F♯ left, G♯ right in the scale of E",
        source: "D. Cook, The Instrumentalist, October 2021",
        instrument: "clarinet-bb",
        passage: "E3 F#3 G#3",
        expects: &[(0, &["right"]), (1, &["left"])],
        or: &[],
    },
    Rule {
        says: "E left before G♯ in the arpeggio of E",
        source: "D. Cook, The Instrumentalist, October 2021",
        instrument: "clarinet-bb",
        passage: "E3 G#3 B3",
        expects: &[(0, &["left"])],
        or: &[],
    },
    Rule {
        says: "C left before E♭, which is right only",
        source: "P. Paglialonga, VMEA Notes, spring 2014",
        instrument: "clarinet-bb",
        passage: "C5 Eb5 C5",
        expects: &[(0, &["left"]), (2, &["left"])],
        or: &[],
    },
    Rule {
        says: "right C♯ next to G♯, which is left only",
        source: "P. Paglialonga, VMEA Notes, spring 2014",
        instrument: "clarinet-bb",
        passage: "C#5 G#5 C#5",
        expects: &[(0, &["right"]), (2, &["right"])],
        or: &[],
    },
    Rule {
        says: "fork F♯ next to F",
        source: "B. Pimentel, Why do I need to use alternate fingerings?; J. Linder-Gaulin, clarinet basics",
        instrument: "clarinet-bb",
        passage: "F5 F#5 F5",
        expects: &[(1, &["fork"])],
        or: &[],
    },
    Rule {
        says: "side-key F♯ next to F",
        source: "J. Linder-Gaulin, clarinet basics (18 July 2019)",
        instrument: "clarinet-bb",
        passage: "F4 F#4 F4",
        expects: &[(1, &["side"])],
        or: &[],
    },
    Rule {
        says: "thumb B♭ where no B natural is near",
        source: "bandermeer.com flute course; R. Herszbaum, The 3 B-flat fingerings",
        instrument: "flute",
        passage: "F4 G4 A4 Bb4 C5 Bb4 A4 G4",
        expects: &[(3, &["thumb"]), (5, &["thumb"])],
        or: &[],
    },
    Rule {
        says: "lever or one-and-one where B natural is next",
        source: "R. Herszbaum, The 3 B-flat fingerings; allegromusicpublishing.com",
        instrument: "flute",
        passage: "A4 Bb4 B4 Bb4 A4",
        expects: &[(1, &["one-and-one", "lever"]), (3, &["one-and-one", "lever"])],
        or: &[],
    },
    Rule {
        says: "one-and-one, not the lever, between F and B natural",
        source: "R. Herszbaum, The 3 B-flat fingerings",
        instrument: "flute",
        passage: "F4 Bb4 B4 Bb4 F4",
        expects: &[(1, &["one-and-one"]), (3, &["one-and-one"])],
        or: &[],
    },
    Rule {
        says: "F♯ with the ring finger, the middle one for trills only",
        source: "Dr Cates' flute tips, October 2014",
        instrument: "flute",
        passage: "E4 F#4 E4 F#4 G4",
        expects: &[(1, &["plain"]), (3, &["plain"])],
        or: &[],
    },
    Rule {
        says: "thumb F♯ next to F",
        source: "C. Lowe, bassoon course: low F♯",
        instrument: "bassoon",
        passage: "F2 Gb2 F2",
        expects: &[(1, &["thumb"])],
        or: &[],
    },
    Rule {
        says: "little-finger F♯ next to B♭ of the right thumb",
        source: "T. Ewell, 2reed.net, video 63",
        instrument: "bassoon",
        passage: "Bb2 F#2 Bb2",
        expects: &[(1, &["little finger"])],
        or: &[],
    },
    Rule {
        says: "thumb B♭ next to A♭",
        source: "C. Lowe, bassoon course: low A♭",
        instrument: "bassoon",
        passage: "G2 Ab2 Bb2 Ab2",
        expects: &[(1, &["little finger"]), (2, &["thumb"]), (3, &["little finger"])],
        or: &[],
    },
    Rule {
        says: "half steps in neighbouring positions: D in 4th before E♭ in 3rd",
        source: "wilktone.com, alternate positions",
        instrument: "trombone-tenor",
        passage: "C4 D4 Eb4",
        expects: &[(1, &["4"])],
        or: &[],
    },
];

/// Rules found after the prices were set: no price was fitted to them.
const UNSEEN: &[Rule] = &[
    Rule {
        says: "forked F before left E♭, which D♭ asks for",
        source: "woodwind.org oboe board, 19 September 2007 (Bach, cantata 12: G F E♭ D♭)",
        instrument: "oboe",
        passage: "G4 F4 Eb4 Db4",
        expects: &[(1, &["forked"]), (2, &["left"])],
        or: &[],
    },
    Rule {
        says: "left F before E♭ and D quickly",
        source: "woodwind.org oboe board, 19 September 2007 (D F E F D)",
        instrument: "oboe",
        passage: "D4 F4 E4 F4 D4",
        expects: &[(1, &["left"]), (3, &["left"])],
        or: &[],
    },
    Rule {
        says: "low E and F with different little fingers",
        source: "jennyclarinet.com, The Complete Guide to Clarinet Pinky Fingerings",
        instrument: "clarinet-bb",
        passage: "E3 F3",
        expects: &[(0, &["left"]), (1, &["right"])],
        or: &[(0, &["right"]), (1, &["left"])],
    },
    Rule {
        says: "left B before right C in the scale of C",
        source: "planzmusic.com, left/right fingering choices; B. Pimentel, Doubling up pinky fingers",
        instrument: "clarinet-bb",
        passage: "A4 B4 C5 D5 C5 B4 A4",
        expects: &[(1, &["left"]), (2, &["right"]), (4, &["right"]), (5, &["left"])],
        or: &[],
    },
    Rule {
        says: "left B before E♭",
        source: "B. Pimentel, Doubling up pinky fingers on the clarinet",
        instrument: "clarinet-bb",
        passage: "A4 B4 Eb5",
        expects: &[(1, &["left"])],
        or: &[],
    },
    Rule {
        says: "right C♯ in the scale of D",
        source: "J. Linder-Gaulin, clarinet basics (18 July 2019)",
        instrument: "clarinet-bb",
        passage: "A4 B4 C#5 D5",
        expects: &[(1, &["left"]), (2, &["right"])],
        or: &[],
    },
    Rule {
        says: "front E in the arpeggio of F with its seventh",
        source: "tamingthesaxophone.com, alternate fingerings (F A C E F C A F)",
        instrument: "alto-sax",
        passage: "F5 A5 C6 E6 F6 C6 A5 F5",
        expects: &[(3, &["front"])],
        or: &[],
    },
    Rule {
        says: "fork F♯ in chromatic runs",
        source: "bandencyclopedia.com, alternate F♯ (E F F♯ G)",
        instrument: "alto-sax",
        passage: "E4 F4 F#4 G4",
        expects: &[(2, &["fork"])],
        or: &[],
    },
    Rule {
        says: "side B♭ and side C in A B♭ B C",
        source: "bandencyclopedia.com, side B♭ and C",
        instrument: "alto-sax",
        passage: "A4 Bb4 B4 C5",
        expects: &[(1, &["side"]), (3, &["side"])],
        or: &[],
    },
    Rule {
        says: "bis in flat keys",
        source: "tamingthesaxophone.com (most cases without fast B♭ to B or C)",
        instrument: "alto-sax",
        passage: "G4 A4 Bb4 A4 G4 F4 Bb4 F4",
        expects: &[(2, &["bis"]), (6, &["bis"])],
        or: &[],
    },
    Rule {
        says: "lever or one-and-one in the scale of B",
        source: "R. Herszbaum, The 3 B-flat fingerings",
        instrument: "flute",
        passage: "F#4 G#4 A#4 B4 A#4 G#4 F#4",
        expects: &[(2, &["one-and-one", "lever"]), (4, &["one-and-one", "lever"])],
        or: &[],
    },
    Rule {
        says: "thumb B♭ in the scale of B♭",
        source: "bandermeer.com flute course",
        instrument: "flute",
        passage: "Bb4 C5 D5 Eb5 F5 G5 A5 Bb5",
        expects: &[(0, &["thumb"]), (7, &["thumb"])],
        or: &[],
    },
    Rule {
        says: "keep half steps in neighbouring positions: G in 4th, A♭ in 3rd",
        source: "wilktone.com, alternate positions",
        instrument: "trombone-tenor",
        passage: "F3 G3 Ab3",
        expects: &[(1, &["4"]), (2, &["3"])],
        or: &[],
    },
    Rule {
        says: "F in 6th by C in 6th",
        source: "the harmonic series; D. Mathie, Alternate Positions (F in first and sixth)",
        instrument: "trombone-tenor",
        passage: "C3 F3 C3 F3 C3",
        expects: &[(1, &["6"]), (3, &["6"])],
        or: &[],
    },
];

fn follows(rule: &Rule, weights: &Weights) -> bool {
    let notes: Vec<String> = rule
        .passage
        .split_whitespace()
        .map(|pitch| format!("{pitch}/e"))
        .collect();
    let piece = notation::sketch(&notes.join(" ")).expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let player = Player::usual(instruments::by_id(rule.instrument), Experience::Professional);
    let options = Options {
        weights: *weights,
        ..Options::default()
    };
    let answer = answer_with(&ctx, &player, &[], &options);
    assert_eq!(
        answer.notes.len(),
        notes.len(),
        "{}: every note has a fingering",
        rule.says
    );
    let met = |expects: &[(usize, &[&str])]| {
        expects.iter().all(|(index, names)| {
            let name: &str = &answer.notes[*index].fingering.name;
            names.contains(&name)
        })
    };
    met(rule.expects) || (!rule.or.is_empty() && met(rule.or))
}

#[test]
fn published_rules_come_out() {
    assert!(RULES.iter().chain(UNSEEN).all(|rule| !rule.source.is_empty()));
    let failed: Vec<&str> = (RULES.iter())
        .filter(|rule| !follows(rule, &Weights::default()))
        .map(|rule| rule.says)
        .collect();
    assert!(failed.is_empty(), "{failed:?}");
}

/// Found when 27 rules were in place: 12 of 14 came out at once. For the other two the usual hands of the clarinet were
/// put first in the chart, and of equal paths the one that begins as usual; one is left.
#[test]
fn unseen_rules_come_out_too() {
    let failed: Vec<&str> = (UNSEEN.iter())
        .filter(|rule| !follows(rule, &Weights::default()))
        .map(|rule| rule.says)
        .collect();
    // Once up the scale the thumb saves less than a finger's movement, so the usual fingering stands.
    assert_eq!(failed, ["thumb B♭ in the scale of B♭"]);
}

/// The rules that fail with one price a quarter lower or higher, each with that price.
fn failing(rules: &[Rule]) -> Vec<String> {
    let mut failed = Vec::new();
    for index in 0..Weights::COUNT {
        for factor in [0.75, 1.25] {
            let mut weights = Weights::default();
            let (name, weight) = weights.nth(index).expect("a price");
            *weight *= factor;
            for rule in rules.iter().filter(|rule| !follows(rule, &weights)) {
                failed.push(format!("{} with {name} × {factor}", rule.says));
            }
        }
    }
    failed
}

#[test]
fn published_rules_come_out_with_every_price_a_quarter_off() {
    // 27 rules, 20 prices, two ways: all 1,080.
    assert!(failing(RULES).is_empty(), "{:?}", failing(RULES));
}

#[test]
fn unseen_rules_hold_with_prices_a_quarter_off_but_for_three_of_520() {
    let failed: Vec<String> = (failing(UNSEEN).into_iter())
        .filter(|rule| !rule.starts_with("thumb B♭ in the scale"))
        .collect();
    assert_eq!(
        failed,
        [
            "bis in flat keys with finger × 1.25",
            "bis in flat keys with palm or side × 0.75",
            "fork F♯ in chromatic runs with contrary, same hand × 0.75",
        ]
    );
}
