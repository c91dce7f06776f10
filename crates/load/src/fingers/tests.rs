//! Laws of the path, choices of the player, and what is said.

use super::menu::Menus;
use super::path::{Prices, Stop, total};
use super::*;
use instruments::Experience;
use notation::{Quarters, sketch};
use proptest::prelude::*;

fn player(instrument: &str) -> Player {
    let known = instruments::by_id(instrument);
    assert!(known.is_some(), "{instrument}");
    Player::usual(known, Experience::Professional)
}

/// Even notes, or a whole sketch where one is given.
fn fingered(player: &Player, music: &str, options: &Options) -> FingeringAnswer {
    let piece = if music.contains('/') {
        sketch(music).expect("a sketch")
    } else {
        let notes: Vec<String> = music
            .split_whitespace()
            .map(|pitch| format!("{pitch}/e"))
            .collect();
        sketch(&notes.join(" ")).expect("a sketch")
    };
    let ctx = Context::new(&piece, 0).expect("a part");
    let ornaments = survey::ornaments::answer(&ctx, &[]).ornaments;
    answer_with(&ctx, player, &ornaments, options)
}

fn plain(instrument: &str, music: &str) -> FingeringAnswer {
    fingered(&player(instrument), music, &Options::default())
}

fn names(answer: &FingeringAnswer) -> Vec<&str> {
    answer
        .notes
        .iter()
        .map(|note| note.fingering.name.as_ref())
        .collect()
}

#[test]
fn a_reason_names_the_finger_and_its_keys() {
    let answer = plain("clarinet-bb", "C5 Eb5 C5");
    assert_eq!(names(&answer), ["left", "plain", "left"]);
    assert_eq!(
        answer.notes[0].reason.as_deref(),
        Some("avoids sliding the right little finger from the F/C key to the A♭/E♭ key")
    );
    assert!(!answer.notes[0].basic && answer.notes[1].basic);
    assert_eq!(answer.notes[1].reason, None);
    let flip = plain("alto-sax", "F4 F#4 F4");
    assert_eq!(
        flip.notes[1].reason.as_deref(),
        Some("avoids the right index finger coming up as the right middle finger goes down")
    );
}

#[test]
fn what_moves_is_said_for_each_step() {
    let answer = plain("oboe", "C4 Eb4");
    let shares = answer.shares();
    assert_eq!(shares.len(), 1);
    assert_eq!(shares[0].share.kind, "fingers");
    let sax = plain("alto-sax", "G#4 B3");
    assert!(
        sax.moves[0]
            .why
            .contains("left little finger slides from the G♯ key to the low B key over the rollers"),
        "{}",
        sax.moves[0].why
    );
    let brass = plain("trumpet-bb", "C4 D4");
    assert_eq!(brass.moves[0].why, "valves 1 and 3 move (C4 to D4)");
    let slide = plain("trombone-tenor", "Bb2 C3");
    assert_eq!(slide.shares()[0].share.kind, "slide");
    assert!(
        slide.moves[0].why.starts_with("the slide goes out from 1 to 6"),
        "{}",
        slide.moves[0].why
    );
}

#[test]
fn crossing_the_break_is_a_share_of_its_own() {
    let shares = plain("clarinet-bb", "A4 B4").shares();
    let crossed: Vec<&str> = (shares
        .iter()
        .filter(|placed| placed.share.kind == "register-break"))
    .map(|placed| placed.share.why.as_str())
    .collect();
    assert_eq!(crossed, ["crosses the break from A4 to B4"]);
    assert!(
        plain("clarinet-bb", "B4 C5")
            .shares()
            .iter()
            .all(|p| p.share.kind != "register-break")
    );
}

#[test]
fn a_rest_or_a_breath_gives_the_fingers_time() {
    let together = plain("clarinet-bb", "C5/q Eb5/q");
    assert_eq!((together.moves.len(), names(&together)[0]), (1, "left"));
    for apart in ["C5/q r/q Eb5/q", "C5/q!breath Eb5/q"] {
        let answer = plain("clarinet-bb", apart);
        assert_eq!((answer.moves.len(), names(&answer)[0]), (0, "right"), "{apart}");
    }
}

#[test]
fn grace_notes_are_fingered_too() {
    let answer = plain("flute", "metre:2/4 G4/q g:B4/e A4/q | C5/h |");
    let written: Vec<String> = answer.notes.iter().map(|note| note.written.to_string()).collect();
    assert_eq!(written, ["G4", "B4", "A4", "C5"]);
    assert_eq!(answer.moves[1].lasts, Quarters::ZERO);
}

/// Source: a bassoon course gives E♯ in F♯ major as F.
#[test]
fn an_unusual_spelling_says_how_it_is_fingered() {
    let answer = plain("bassoon", "F#2 E#2 F#2");
    assert_eq!(answer.notes[1].said.as_deref(), Some("E♯ is fingered as F"));
    assert_eq!(
        answer.notes[1].as_pitch.map(|p| p.to_string()).as_deref(),
        Some("F2")
    );
    assert_eq!(answer.notes[0].said, None);
}

#[test]
fn a_note_without_a_fingering_says_so_and_cuts_the_passage() {
    let answer = plain("bassoon", "D4 Eb4 D4 Eb4");
    assert_eq!(answer.notes.len(), 2);
    assert_eq!(answer.moves.len(), 0);
    assert_eq!((answer.gaps.len(), answer.gaps[0].times), (1, 2));
    assert!(
        answer.gaps[0].why.contains("no established fingering"),
        "{}",
        answer.gaps[0].why
    );
    assert!(answer.means.contains("E♭4"), "{}", answer.means);
    let violin = plain("violin", "G4 A4");
    assert!(violin.chart.is_none() && violin.notes.is_empty());
    assert!(violin.means.contains("winds only"), "{}", violin.means);
    assert!(
        plain("contrabassoon", "C3")
            .means
            .contains("no fingering chart good enough")
    );
}

#[test]
fn what_the_player_prefers_is_kept() {
    let mut player = player("oboe");
    let f = Pitch::parse("F4").expect("a pitch");
    player.prefers.push((f, "Forked".to_owned()));
    let answer = fingered(&player, "E4 F4 G4", &Options::default());
    assert_eq!(names(&answer), ["plain", "forked", "plain"]);
    assert!(answer.notes[1].own);
    assert_eq!(answer.notes[1].reason.as_deref(), Some("the player's own choice"));
    // In our notation, though the chart has no such fingering.
    player.prefers[0].1 = "L1 L2 L3 L4:F | R1 R2 R3".to_owned();
    let answer = fingered(&player, "E4 F4 G4", &Options::default());
    assert_eq!(answer.notes[1].state.to_string(), "L1 L2 L3 L4:F | R1 R2 R3");
    assert_eq!(answer.moves.len(), 2);
    // By a name that nobody knows: kept, not weighed.
    player.prefers[0].1 = "my teacher's F".to_owned();
    let answer = fingered(&player, "E4 F4 G4", &Options::default());
    assert_eq!(names(&answer)[1], "my teacher's F");
    assert_eq!(answer.moves.len(), 0);
    assert!(
        answer.notes[1]
            .reason
            .as_deref()
            .is_some_and(|r| r.contains("not weighed"))
    );
}

#[test]
fn a_teachers_choice_at_one_note_holds_there_alone() {
    let piece = sketch("Bb4/q A4/q Bb4/q").expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let last = ctx.part.events[2].id;
    let options = Options {
        own: vec![(last, "lever".to_owned())],
        ..Options::default()
    };
    let answer = answer_with(&ctx, &player("flute"), &[], &options);
    assert_eq!(answer.notes[2].fingering.name, "lever");
    assert_ne!(answer.notes[0].fingering.name, "lever");
}

/// Source: MusicXML 4.0, <fingering>: the finger, valve or hand as printed.
#[test]
fn what_is_printed_is_kept_if_the_chart_knows_it() {
    let printed = |instrument: &str, music: &str, text: &str| {
        let mut piece = sketch(music).expect("a sketch");
        piece.parts[0].events[0].technical.push(notation::Technical {
            name: "fingering".to_owned(),
            text: text.to_owned(),
            side: None,
        });
        let ctx = Context::new(&piece, 0).expect("a part");
        answer(&ctx, &player(instrument), &[]).notes[0].clone()
    };
    let trumpet = printed("trumpet-bb", "E4/q F4/q", "3");
    assert_eq!(trumpet.fingering.name, "3");
    assert_eq!(trumpet.reason.as_deref(), Some("as printed on the page"));
    assert_eq!(printed("clarinet-bb", "C5/q Eb5/q", "R").fingering.name, "right");
    assert_eq!(printed("flute", "G4/q A4/q", "5").fingering.name, "plain");
}

#[test]
fn what_is_out_of_reach_is_not_proposed() {
    let mut player = player("oboe");
    let f = Pitch::parse("F4").expect("a pitch");
    player.out_of_reach.push((f, "left".to_owned()));
    let answer = fingered(&player, "D4 F4 D4", &Options::default());
    assert_eq!(names(&answer)[1], "forked", "no left F on her oboe");
    player.out_of_reach.push((f, "regular".to_owned()));
    let alone = fingered(&player, "E4 F4 G4", &Options::default());
    assert!(
        alone.notes[1]
            .reason
            .as_deref()
            .is_some_and(|r| r.contains("out of reach")),
        "{:?}",
        alone.notes[1].reason
    );
    player.out_of_reach.push((f, "forked".to_owned()));
    let none = fingered(&player, "E4 F4 G4", &Options::default());
    assert!(none.gaps[0].why.contains("out of reach"));
}

/// Source: bandermeer.com flute course: the thumb may stay for every note but B natural.
#[test]
fn a_key_that_stays_down_is_one_stretch() {
    let answer = plain("flute", "F4 G4 A4 Bb4 C5 Bb4 A4 G4 B4 A4 B4 A4 Bb4 A4 G4 F4");
    let stays = answer.stays();
    assert_eq!(stays[0].says, "the thumb stays on the B♭ key");
    assert_eq!(
        (stays[0].notes, stays[0].from),
        (3, answer.notes[0].place),
        "{stays:?}"
    );
    assert_eq!(
        stays[0].to, answer.notes[2].place,
        "up to B♭ and C; after that B natural comes too soon"
    );
    assert_eq!(answer.notes[3].fingering.name, "thumb");
    assert_eq!(
        answer.means,
        "One note lies better with another fingering than the usual one."
    );
    let clarinet = plain("clarinet-bb", "A4 Bb4 C5 D5");
    assert_eq!(clarinet.stays().len(), 1);
    assert!(clarinet.means.contains("may stay down"), "{}", clarinet.means);
}

/// Source: The Instrumentalist, April 2010: D5 sharp, open C♯5 flat on the saxophone.
#[test]
fn notes_that_tend_to_be_out_of_tune_are_named() {
    let tending = plain("alto-sax", "C#5/q r/q D5/q E5/q D5/q").tendencies();
    let said: Vec<(String, &str, usize)> = (tending.iter())
        .map(|t| (t.written.to_string(), t.says, t.times))
        .collect();
    assert_eq!(
        said,
        [("C#5".to_owned(), "flat", 1), ("D5".to_owned(), "sharp", 2)]
    );
}

/// Source: Dr Cates' flute tips, High register: the third octave is sharp, E6, F♯6 and G♯6 above all.
#[test]
fn a_note_tends_even_where_its_fingering_is_not_given() {
    let tending = plain("flute", "G5 E6 D6 E6").tendencies();
    let said: Vec<(String, &str, usize)> = (tending.iter())
        .map(|t| (t.written.to_string(), t.says, t.times))
        .collect();
    assert_eq!(
        said,
        [
            ("E6".to_owned(), "sharp, more than its neighbours", 2),
            ("D6".to_owned(), "sharp, as the third octave is", 1),
        ]
    );
}

#[test]
fn a_score_at_concert_pitch_is_read_as_the_instrument_is_written() {
    let mut piece = sketch("Bb3/q").expect("a sketch");
    piece.concert_pitch = true;
    let ctx = Context::new(&piece, 0).expect("a part");
    let answer = answer(&ctx, &player("clarinet-bb"), &[]);
    assert_eq!(
        answer.notes[0].state.to_string(),
        "LT L1 L2 L3 |",
        "the clarinet's C4"
    );
}

/// Source: Dr Cates' flute tips, October 2014: the middle-finger F♯ is for trills.
#[test]
fn trills_are_fingered_or_said_to_be_unknown() {
    let flute = plain("flute", "key:1 E4/h!trill A4/h!trill C5/h!trill^sharp");
    let said: Vec<&str> = flute.trills.iter().map(|trill| trill.says.as_str()).collect();
    assert_eq!(said[0], "trill fingering: right index finger alone");
    assert_eq!(said[1], "left middle finger alone, with the usual fingerings");
    assert!(flute.trills[0].known && flute.trills[1].known);
    assert!(
        said[2].starts_with("no trill fingering is known here"),
        "{}",
        said[2]
    );
    let sax = plain("alto-sax", "key:0 D4/h!trill^sharp");
    assert!(!sax.trills[0].known || sax.trills[0].moves.len() == 1);
    let high = plain("flute", "D6/h!trill");
    assert!(!high.trills[0].known);
    assert!(
        high.trills[0].says.contains("E6 has none"),
        "{}",
        high.trills[0].says
    );
    let trombone = plain("trombone-tenor", "F3/h!trill");
    assert!(trombone.trills[0].says.contains("lip trill"));
}

/// Source: common practice; a treble-clef euphonium part is fingered as a trumpet's, a horn in E♭ a step lower.
#[test]
fn parts_in_another_transposition_are_read_as_the_instrument_sounds() {
    let first = |instrument: &str, music: &str| names(&plain(instrument, music))[0].to_owned();
    assert_eq!(first("euphonium", "C4/q"), "1");
    assert_eq!(first("euphonium", "trans:-8,-14 D4/q"), "1-3");
    assert_eq!(first("horn", "trans:-4,-7 C4/q"), "open");
    assert_eq!(first("horn", "trans:-5,-9 D4/q"), "open");
    assert_eq!(first("recorder-soprano", "trans:0,0 C5/q"), "plain");
    assert_eq!(first("clarinet-a", "trans:-2,-3 D4/q"), "plain");
}

#[test]
fn nonsense_in_a_file_is_survived() {
    for transposition in ["trans:2000000000,2000000000", "trans:-2147483647,-2147483647"] {
        for instrument in ["horn", "recorder-alto", "clarinet-bb"] {
            let mut player = player(instrument);
            let c = Pitch::parse("C127").expect("a pitch");
            player.prefers.push((c, "L1 |".to_owned()));
            let music = format!("{transposition} C127/q C-120/q C4/q");
            let answer = fingered(&player, &music, &Options::default());
            assert!(answer.total.is_finite(), "{instrument}");
        }
    }
}

fn asked<'a>(note: &notes::Note<'a>) -> menu::Asked<'a> {
    menu::Asked {
        written: note.written,
        read: note.read,
        here: None,
        printed: None,
        quick: false,
    }
}

/// Source: B. Coelho, E-flat bassoon fingering; woodwind.org oboe board, 19 September 2007.
#[test]
fn a_quick_note_may_sound_less_good() {
    let quick = Options {
        quick: Some(notation::Rational::new(1, 4)),
        ..Options::default()
    };
    for (instrument, slow, fast) in [("oboe", "left", "forked"), ("bassoon", "full", "forked")] {
        let notes = if instrument == "oboe" {
            ["D4", "F4", "D4"]
        } else {
            ["D3", "Eb3", "D3"]
        };
        let music = |value: &str| notes.map(|note| format!("{note}/{value}")).join(" ");
        let name = |value: &str| {
            fingered(&player(instrument), &music(value), &quick).notes[1]
                .fingering
                .name
                .clone()
        };
        assert_eq!(
            (name("e").as_ref(), name("s").as_ref()),
            (slow, fast),
            "{instrument}"
        );
    }
}

fn any_music() -> impl Strategy<Value = (&'static str, String)> {
    let instruments = prop::sample::select(vec![
        "flute",
        "oboe",
        "clarinet-bb",
        "alto-sax",
        "bassoon",
        "recorder-alto",
        "horn",
        "trumpet-bb",
        "trombone-tenor",
        "tuba",
        "english-horn",
    ]);
    (instruments, prop::collection::vec((0usize..40, 0u8..8), 1..40)).prop_map(|(id, notes)| {
        let chart = instruments::fingering::chart(id).expect(id);
        let all: Vec<Pitch> = chart.entries().map(|(pitch, _)| pitch).collect();
        let tokens: Vec<String> = notes
            .into_iter()
            .map(|(index, rest)| {
                let pitch = all[index % all.len()];
                if rest == 0 {
                    format!("{pitch}/e r/e")
                } else {
                    format!("{pitch}/e")
                }
            })
            .collect();
        (id, tokens.join(" "))
    })
}

proptest! {
    #[test]
    fn the_path_never_takes_more_than_the_usual_fingerings((id, music) in any_music()) {
        let answer = plain(id, &music);
        prop_assert!(answer.total <= answer.all_basic + 1e-9);
        prop_assert_eq!(answer.notes.len(), music.split_whitespace().filter(|t| !t.starts_with('r')).count());
        for note in &answer.notes {
            prop_assert_eq!(note.reason.is_none(), note.basic);
        }
        let whole: f64 = answer.shares().iter().map(|placed| placed.share.amount).sum();
        prop_assert!(whole.is_finite() && answer.shares().iter().all(|placed| placed.share.amount > 0.0));
    }

    /// What pays is an amount, so the margin is scaled with the prices by doubling both.
    #[test]
    fn only_the_ratio_of_prices_counts((id, music) in any_music(), factor in 1u8..5) {
        let piece = sketch(&music).expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        let player = player(id);
        let notes = notes::notes(&ctx, player.instrument.expect("known"));
        let chart = instruments::fingering::chart(id).expect(id);
        let own = BTreeMap::new();
        let mut menus = Menus::new(chart, &player, &own);
        let numbers: Vec<usize> = notes.iter().map(|n| menus.number(&asked(n))).collect();
        let stops: Vec<Stop> = notes
            .iter()
            .zip(&numbers)
            .map(|(n, set)| Stop { set: *set, key: n.read.key_number(), read: n.read, ways: &menus.get(*set).expect("made").ways })
            .collect();
        let weights = Weights::default();
        let times = weights.scaled(f64::from(1u8 << factor));
        let path = path::cheapest(&stops, &mut Prices::new(chart, &weights));
        prop_assert_eq!(path, path::cheapest(&stops, &mut Prices::new(chart, &times)));
    }

    /// Dynamic programming against every path there is.
    #[test]
    fn the_path_is_the_cheapest_of_all((id, music) in any_music()) {
        let few: Vec<&str> = music.split_whitespace().filter(|t| !t.starts_with('r')).take(4).collect();
        let piece = sketch(&few.join(" ")).expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        let player = player(id);
        let notes = notes::notes(&ctx, player.instrument.expect("known"));
        let chart = instruments::fingering::chart(id).expect(id);
        let own = BTreeMap::new();
        let mut menus = Menus::new(chart, &player, &own);
        let numbers: Vec<usize> = notes.iter().map(|n| menus.number(&asked(n))).collect();
        let stops: Vec<Stop> = notes
            .iter()
            .zip(&numbers)
            .map(|(n, set)| Stop { set: *set, key: n.read.key_number(), read: n.read, ways: &menus.get(*set).expect("made").ways })
            .collect();
        let weights = Weights::default();
        let mut prices = Prices::new(chart, &weights);
        let found = path::cheapest(&stops, &mut prices);
        let least = total(&stops, &mut prices, &found);
        let mut every: Vec<Vec<usize>> = vec![vec![]];
        for stop in &stops {
            every = every
                .into_iter()
                .flat_map(|path| (0..stop.ways.len()).map(move |way| [path.clone(), vec![way]].concat()))
                .collect();
        }
        for path in every.iter().take(20_000) {
            prop_assert!(least <= total(&stops, &mut prices, path) + 1e-9);
        }
    }
}

/// 5,000 bars of eighths, beside 500: ten times the notes, not much more than ten times the steps.
#[test]
fn five_thousand_bars_are_fingered() {
    let bar = "F4/e G4/e A4/e Bb4/e C5/e Bb4/e D5/e F#5/e";
    let long = vec![bar; 5_000].join(" | ");
    let answer = plain("flute", &long);
    assert_eq!(answer.notes.len(), 40_000);
    assert_eq!(answer.moves.len(), 39_999);
    assert_eq!(answer.notes[3].fingering.name, "thumb");
}
