//! Phrases on lines short enough to sing.
use super::*;

fn asked(text: &str) -> PhrasesAnswer {
    let piece = notation::sketch(text).expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let key = crate::key::answer(&ctx, None);
    answer(&ctx, Some(&key))
}

fn begins(text: &str) -> Vec<usize> {
    asked(text).boundaries.iter().map(|b| b.note).collect()
}

#[test]
fn an_empty_line_has_no_phrase() {
    assert!(begins("metre:4/4 R | R").is_empty());
    assert_eq!(begins("metre:4/4 C5/w"), [0]);
}

const SONG: &str =
    "metre:2/4 C5/q C5/q | D5/q E5/q | F5/q E5/q | D5/h | E5/q E5/q | D5/q C5/q | D5/q B4/q | C5/h";

#[test]
fn a_song_has_its_two_lines() {
    assert_eq!(begins(SONG), [0, 7]);
    let answer = asked(SONG);
    assert!(answer.begins(7) && answer.ends(6) && !answer.ends(7) && answer.ends(13));
    assert_eq!(answer.phrases.len(), 2);
    assert_eq!(answer.phrases[1].notes, 7..14);
    assert!(
        answer.boundaries[1]
            .why
            .contains(&"a long note ends the last phrase")
    );
}

/// Source: facts on breathing: a bar line alone is no boundary; an upbeat moves it before the bar line.
#[test]
fn an_upbeat_belongs_to_what_follows() {
    let song = "metre:4/4 G4/q | C5/q C5/q D5/q D5/q | E5/h. G4/q | E5/q E5/q D5/q D5/q | C5/h. G4/q | \
                C5/q C5/q D5/q D5/q | E5/h. G4/q | E5/q D5/q C5/q B4/q | C5/h.";
    assert_eq!(begins(song), [0, 6, 12, 18]);
}

#[test]
fn the_pages_own_signs_decide() {
    let held = asked(&SONG.replace("F5/q E5/q | D5/h", "F5/q!fermata E5/q | D5/h"));
    assert!(held.certainties[5] > asked(SONG).certainties[5]);
    let mut piece = notation::sketch(SONG).expect("a sketch");
    piece.parts[0].events[2]
        .articulations
        .push(notation::Articulation {
            kind: notation::ArticulationKind::BreathMark("comma".to_owned()),
            side: None,
        });
    let marked = answer(&Context::new(&piece, 0).expect("a part"), None);
    assert!(marked.begins(3), "where a breath mark is printed a phrase ends");
    let slurred = asked(&SONG.replace("F5/q E5/q | D5/h | E5/q E5/q", "F5/q E5/q | ( D5/h | E5/q ) E5/q"));
    assert!(!slurred.begins(7), "nothing begins inside a slur");
    let section =
        asked("metre:3/4 C5/q D5/q E5/q | F5/q G5/q A5/q || G5/q F5/q E5/q | D5/q C5/q B4/q | C5/h.");
    assert!(section.begins(6));
}

proptest::proptest! {
    /// Certainties are probabilities, slow tunes are divided like fast ones, and the same question has the same answer.
    #[test]
    fn note_values_are_relative(tokens in proptest::collection::vec((0usize..8, 0usize..4), 2..60)) {
        let write = |values: [&str; 4], metre: &str| {
            let mut text = format!("key:0 metre:{metre}");
            for (at, (pitch, value)) in tokens.iter().enumerate() {
                let name = ["C5", "D5", "E5", "G4", "A4", "B4", "F5", "r"][*pitch];
                text.push_str(&format!(" {name}/{}", values[*value]));
                if at % 5 == 4 {
                    text.push_str(" |");
                }
            }
            text
        };
        let of = |text: String| {
            let piece = notation::sketch(&text).expect("a sketch");
            answer(&Context::new(&piece, 0).expect("a part"), None)
        };
        let (short, long) = (of(write(["s", "e", "q", "e."], "2/4")), of(write(["e", "q", "h", "q."], "2/2")));
        proptest::prop_assert_eq!(short.certainties.len(), long.certainties.len());
        for (a, b) in short.certainties.iter().zip(&long.certainties) {
            proptest::prop_assert!((0.0..=1.0).contains(a) && a.is_finite());
            proptest::prop_assert!((a - b).abs() < 1e-9, "{:?} {:?}", short.certainties, long.certainties);
        }
    }
}

/// Slow twin: the certainties are the shares of all divisions, counted one by one.
#[test]
fn certainties_are_shares_of_all_divisions() {
    let piece = notation::sketch("metre:3/4 C5/q D5/e E5/e F5/q | G5/h C5/q | D5/q B4/q G4/q | C5/h.")
        .expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let notes = Notes::of(&ctx);
    let signs = signs(&ctx, &notes);
    let rows = features::rows(&notes, Some(0));
    let n = notes.len();
    let mut shares = vec![0.0; n];
    let mut whole = 0.0;
    for division in 0..1_u32 << (n - 1) {
        let starts: Vec<usize> = (0..n)
            .filter(|at| *at == 0 || division >> (at - 1) & 1 == 1)
            .collect();
        let weight = blend::worth(&notes, &rows, &signs, &starts).exp();
        whole += weight;
        for start in starts {
            shares[start] += weight;
        }
    }
    for (mine, share) in blend::certainties(&notes, &rows, &signs).iter().zip(shares) {
        assert!((mine - share / whole).abs() < 1e-9, "{mine} {}", share / whole);
    }
}
