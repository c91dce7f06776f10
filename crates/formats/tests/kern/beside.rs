//! Dynamics, words, fingerings, chord names, comments: what stands in other spines and beside the notes.

use crate::{clean, directions, kinds, read, spans};

#[test]
fn dynamics_and_hairpins() {
    let (piece, findings) = read("beside/dynamics");
    let part = &piece.parts[0];
    assert_eq!(
        directions(part),
        [
            "0@0 Dynamic(\"mf\")",
            "0@3 Dynamic(\"sfz\")",
            "1@2 Words(\"cresc.\")",
            "2@2 Dynamic(\"p\")"
        ]
    );
    // The second starts and ends under one note; the hidden one is not printed; the last never ends.
    assert_eq!(
        spans(part),
        [
            "Crescendo { niente: false } 0@0 → 0@2",
            "Diminuendo { niente: false } 1@0 → 1@2",
            "Diminuendo { niente: false } 3@0 → ?"
        ]
    );
    assert_eq!(kinds(&findings), ["unpaired-hairpin 4"]);
}

#[test]
fn syllables_by_verse() {
    let piece = clean("beside/words");
    let said: Vec<String> = piece.parts[0]
        .events
        .iter()
        .map(|event| {
            let say = |l: &notation::Lyric| {
                format!(
                    "{}:{}:{}{}",
                    l.line,
                    l.text,
                    l.syllabic,
                    if l.extend { "_" } else { "" }
                )
            };
            event.lyrics.iter().map(say).collect::<Vec<_>>().join(" ")
        })
        .collect();
    assert_eq!(
        said,
        [
            "1:Can:begin 2:O:single_",
            "1:ta:middle",
            "1:te:end 2:light:single_",
            "1:now:single",
            "2:lost:single",
            "1:sing:single_"
        ]
    );
}

#[test]
fn fingerings_chord_names_and_spines_without_a_place() {
    let (piece, findings) = read("beside/fingerings-and-harmony");
    let part = &piece.parts[0];
    let fingers: Vec<(String, &str)> = part
        .events
        .iter()
        .flat_map(notation::Event::heads)
        .flat_map(|head| {
            head.technical
                .iter()
                .map(|t| (head.pitch().expect("a pitch").to_string(), t.text.as_str()))
        })
        .collect();
    let expected = [("C4", "1"), ("E4", "3"), ("D4", "2")];
    assert_eq!(
        fingers,
        expected.map(|(pitch, finger)| (pitch.to_owned(), finger))
    );
    assert_eq!(
        directions(part),
        [
            "0@0 Sign { name: \"harmony\", text: \"C major\" }",
            "0@0 Sign { name: \"analysis\", text: \"I\" } hidden"
        ]
    );
    assert_eq!(kinds(&findings), ["not-read 1", "not-read 1"]);
    assert!(
        findings[1].what.contains("**blot (2 times"),
        "{}",
        findings[1].what
    );
}

#[test]
fn comments_are_words_only_where_they_say_so() {
    let (piece, findings) = read("beside/comments");
    assert_eq!(
        directions(&piece.parts[0]),
        [
            "0@0 Words(\"dolce\") Above",
            "0@1 Metronome(Metronome { beat: Quarter, dots: 0, value: PerMinute(\"84\"), parentheses: false }) Below",
            "0@2 Sign { name: \"comment\", text: \"look at the bow\" } hidden",
            "2@0 Words(\"Coda\")"
        ]
    );
    assert_eq!(kinds(&findings), ["comments-kept"]);
    let breaks: Vec<(bool, bool)> = piece
        .bars
        .iter()
        .map(|bar| (bar.new_system, bar.new_page))
        .collect();
    assert_eq!(breaks, [(false, false), (true, false), (true, true)]);
}

#[test]
fn a_spine_of_dynamics_says_where_they_stand() {
    let text = b"**kern\t**dynam\n*M2/4\t*above\n4d\tp\n*\t*below\n4e\tf\n*-\t*-\n";
    let (piece, findings) = formats::read(text, "sides").expect("a piece");
    assert_eq!(kinds(&findings), Vec::<String>::new());
    let said = directions(&piece.parts[0]);
    assert_eq!(said, ["0@0 Dynamic(\"p\") Above", "0@1 Dynamic(\"f\") Below"]);
}
