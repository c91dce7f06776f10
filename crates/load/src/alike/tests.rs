//! Are returns seen as a teacher sees them? Short pieces, one kind of return each.

use super::*;

fn ask(text: &str) -> AlikeAnswer {
    let piece = notation::sketch(text).expect("sketch");
    answer(&Context::new(&piece, 0).expect("part"), &[])
}

fn said(text: &str) -> Vec<(usize, usize, How, Vec<String>)> {
    let answer = ask(text);
    let row = |a: &LookAlike| (a.bar.get() + 1, a.like.get() + 1, a.how, a.differences.clone());
    answer.look_alikes.iter().map(row).collect()
}

#[test]
fn the_same_bar_again_and_in_another_octave() {
    let text = "metre:2/4 C4/e D4/e E4/e G4/e | F4/h | C4/e D4/e E4/e G4/e | C5/e D5/e E5/e G5/e |";
    assert_eq!(
        said(text),
        [(3, 1, How::Same, vec![]), (4, 1, How::Octaves(1), vec![])]
    );
}

#[test]
fn a_sequence_by_step_and_a_return_in_another_key() {
    let sequence = "metre:2/4 E4/e F4/e G4/e E4/e | D4/e E4/e F4/e D4/e |";
    assert_eq!(said(sequence), [(2, 1, How::Steps(-1), vec![])]);
    let altered = "metre:2/4 E4/e F4/e G4/e E4/e | D4/e E4/e F#4/e D4/e |";
    assert_eq!(
        said(altered),
        [(2, 1, How::Steps(-1), vec!["note 3 is altered, F♯4".to_owned()])]
    );
    let key = "metre:2/4 C4/e D4/e E4/e G4/e | D4/e E4/e F#4/e A4/e |";
    assert_eq!(
        said(key),
        [(
            2,
            1,
            How::Key {
                steps: 1,
                semitones: 2
            },
            vec![]
        )]
    );
}

#[test]
fn nearly_names_the_note_that_differs() {
    let text = "key:1 metre:2/4 G4/e A4/e B4/e F#4/e | D4/h | G4/e A4/e B4/e F4/e |";
    let found = said(text);
    assert_eq!(found.len(), 1);
    assert_eq!((found[0].0, found[0].1, found[0].2), (3, 1, How::Nearly(0)));
    assert_eq!(found[0].3, ["the last note is F♮4, not F♯4"]);
    let shifted = "metre:2/4 E4/e F4/e G4/e A4/e | C4/e D4/e E4/e C4/e |";
    let found = said(shifted);
    assert_eq!((found[0].2, found[0].3.len()), (How::Nearly(-2), 1));
}

#[test]
fn marks_that_differ_are_named() {
    let text = "metre:2/4 C4/q!staccato D4/q | C4/q D4/q!accent |";
    let found = said(text);
    assert_eq!(found[0].2, How::Same);
    assert_eq!(found[0].3, ["accent here, not there", "no staccato here"]);
}

#[test]
fn single_notes_and_rests_are_no_look_alikes() {
    assert_eq!(said("metre:4/4 C4/w | C4/w | R | R |"), []);
    let answer = ask("metre:4/4 C4/w | C4/w | R | R |");
    assert_eq!((answer.bars_with_notes, answer.new_bars), (2, 2));
}

#[test]
fn runs_of_bars_are_passages_and_the_form_is_told() {
    let a = "C4/q D4/q E4/q F4/q | G4/q E4/q D4/q C4/q | A4/q G4/q F4/q E4/q | D4/h C4/h |";
    let b = "B4/e A4/e G4/q B4/q D5/q | C5/q A4/h E4/q | F#4/q G4/q A4/q F#4/q | G4/w |";
    let answer = ask(&format!("metre:4/4 {a} {b} {a}"));
    assert_eq!(answer.form.letters(), "A B A");
    let passage = answer.passages.first().expect("a passage");
    assert_eq!(
        (passage.bars.0.get(), passage.bars.1.get(), passage.how),
        (8, 11, How::Same)
    );
    assert_eq!(answer.new_bars, 8);
    assert!(
        answer.summary.starts_with("8 of 12 bars are new; 4 come back"),
        "{}",
        answer.summary
    );
}

#[test]
fn figures_are_found_at_any_pitch() {
    let text = "metre:2/4 C4/s D4/s E4/s D4/s D4/s E4/s F4/s E4/s | E4/s F4/s G4/s F4/s C4/q |";
    let figures = ask(text).figures;
    assert_eq!(figures.len(), 1);
    assert_eq!(
        (figures[0].places.len(), figures[0].starts, figures[0].notes),
        (3, 3, 4)
    );
}

#[test]
fn distances_in_words() {
    assert_eq!(shift_words(-2), "a third lower");
    assert_eq!(shift_words(7), "an octave higher");
    assert_eq!(shift_words(9), "an octave and a third higher");
    assert_eq!(shift_words(-14), "2 octaves lower");
    assert_eq!(How::Steps(-2).words("5", "bar"), "is bar 5 a third lower");
}

proptest::proptest! {
    /// Every look-alike points back to a bar with the same rhythm, and no bar is told twice.
    #[test]
    fn look_alikes_point_back(bars in proptest::collection::vec(proptest::collection::vec(0..5_i32, 2..5), 1..30)) {
        let letters = ["C4", "D4", "E4", "F#4", "G4"];
        let text: String = bars.iter().map(|bar| {
            let notes: Vec<String> = bar.iter().map(|n| format!("{}/q", letters[usize::try_from(*n).unwrap_or(0)])).collect();
            format!("{} | ", notes.join(" "))
        }).collect();
        let answer = ask(&format!("metre:4/4 {text}"));
        proptest::prop_assert!(answer.look_alikes.windows(2).all(|pair| pair[0].bar < pair[1].bar));
        for alike in &answer.look_alikes {
            proptest::prop_assert!(alike.like < alike.bar);
            proptest::prop_assert_eq!(bars[alike.like.get()].len(), bars[alike.bar.get()].len());
            if alike.how == How::Same {
                proptest::prop_assert_eq!(&bars[alike.like.get()], &bars[alike.bar.get()]);
            }
        }
        proptest::prop_assert!(answer.new_bars <= answer.bars_with_notes);
        proptest::prop_assert_eq!(answer.form.sections.first().map(|s| s.bars.0.get()), Some(0));
    }
}
