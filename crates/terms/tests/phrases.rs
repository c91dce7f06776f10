//! What do whole directions mean? Phrases as they stand in print, with the one meaning and kind we give them.
//!
//! Meanings: common practice, from memory (single terms that were checked say so in their `source`).

use terms::{Kind, Spelling, read};

#[track_caller]
fn check(text: &str, kind: Kind, meaning: &str) {
    let reading = read(text);
    assert_eq!(reading.meaning.as_deref(), Some(meaning), "{text}");
    assert_eq!(reading.kind, Some(kind), "{text}");
}

#[test]
fn tempo_with_its_colours() {
    use Kind::Tempo;
    check("Allegro", Tempo, "fast");
    check(
        "Allegro ma non troppo e con fuoco",
        Tempo,
        "fast, but not too much, and with fire",
    );
    check("Allegro ma non tanto", Tempo, "fast, but not so much");
    check("Allegro non troppo", Tempo, "fast, not too much");
    check("Molto Adagio", Tempo, "very slow");
    check("Adagio molto e mesto", Tempo, "very slow and sad");
    check("Allegro assai", Tempo, "very fast");
    check("Allegro molto e con brio.", Tempo, "very fast and with vigour");
    check("Allegro moderato", Tempo, "moderately fast");
    check(
        "Allegretto vivace e sempre scherzando.",
        Tempo,
        "fairly fast, lively, and always joking",
    );
    check(
        "Andante con moto, quasi Allegretto",
        Tempo,
        "at a walking pace, with motion, almost fairly fast",
    );
    check("Presto possibile", Tempo, "as fast as possible");
    check("Molto presto", Tempo, "extremely fast");
    check("non troppo presto", Tempo, "not too fast");
    check("Alla Marcia, assai vivace", Tempo, "like a march, very lively");
    check("Tempo di Menuetto", Tempo, "at the speed of a minuet");
    check("Tempo di Valse", Tempo, "at the speed of a waltz");
    check("Allegretto con Variazioni", Tempo, "fairly fast, with variations");
    check("Allegro\ndolce", Tempo, "fast; sweetly");
    check("Grave", Tempo, "very slow and solemn");
    check("Larghetto affettuoso", Tempo, "slow, with tender feeling");
    check("ALLEGRO E CANTABILE", Tempo, "fast and in a singing style");
}

#[test]
fn german_french_and_english_tempo() {
    use Kind::Tempo;
    check("Nicht zu schnell", Tempo, "not too fast");
    check("Sehr lebhaft", Tempo, "very lively");
    check("Ziemlich langsam", Tempo, "fairly slow");
    check("Mäßig schnell", Tempo, "moderately fast");
    check("maessig bewegt", Tempo, "with moderate motion");
    check(
        "Sehr innig und nicht zu rasch",
        Tempo,
        "very heartfelt and not too quick",
    );
    check("im Tempo eines Menuetts", Tempo, "at the speed of a minuet");
    check("très vif", Tempo, "very lively");
    check("assez lent", Tempo, "fairly slow");
    check("pas trop lent", Tempo, "not too slow");
    check("légèrement animé", Tempo, "slightly lively");
    check("Very slowly", Tempo, "very slow");
    check("Not too fast", Tempo, "not too fast");
    check(
        "Moderately fast, with energy",
        Tempo,
        "moderately fast, energetic",
    );
    check("Lively, but not too fast", Tempo, "lively, but not too fast");
}

#[test]
fn changes_of_tempo() {
    use Kind::ChangeOfTempo as Change;
    check("poco rit.", Change, "slowing down a little");
    check("molto rit.", Change, "slowing down a great deal");
    check("rit. molto", Change, "slowing down a great deal");
    check(
        "dim. e rall.",
        Kind::ChangeOfDynamic,
        "getting softer and slowing down",
    );
    check("più mosso", Change, "faster, with more motion");
    check("poco più mosso", Change, "a little faster");
    check("un poco più vivace", Change, "a little livelier");
    check("meno mosso", Change, "slower, with less motion");
    check("Meno mosso e moderato", Kind::Tempo, "slower and moderate");
    check("poco più lento", Change, "a little slower");
    check("Piu Allegro", Change, "faster");
    check("sempre più lento", Change, "slower and slower");
    check("un peu plus lent", Change, "a little slower");
    check("un peu moins vite", Change, "a little less fast");
    check("Etwas bewegter", Change, "somewhat livelier");
    check("Etwas langsamer", Change, "somewhat slower");
    check("noch schneller", Change, "still faster");
    check("immer geschwinder", Change, "ever swifter");
    check("Slightly faster", Change, "a little faster");
    check("cédez un peu", Change, "give way a little");
    check("toujours en pressant", Change, "pressing on all the time");
    check("in tempo", Change, "in time");
    check("a tempo", Change, "back in time");
    check("l'istesso tempo", Change, "the same speed");
    check("L’ istesso tempo", Change, "the same speed");
    check("Tempo I", Change, "the first speed again");
    check("Tempo 1º", Change, "the first speed again");
    check("colla parte", Change, "follow the soloist");
    check("string. il tempo.", Change, "pressing on, faster and tighter");
}

#[test]
fn dynamics_and_their_changes() {
    use Kind::{ChangeOfDynamic as Change, Dynamic};
    check("meno f", Dynamic, "less loud");
    check("mf-p", Dynamic, "moderately loud, soft");
    check("più p", Dynamic, "softer");
    check("poco f", Dynamic, "somewhat loud");
    check("sempre pp", Dynamic, "always very soft");
    check("p subito", Dynamic, "suddenly soft");
    check("sempre più f", Dynamic, "louder and louder");
    check("p espr.", Dynamic, "soft, expressive");
    check("sempre p e dolce", Dynamic, "always soft and sweetly");
    check("sffz", Dynamic, "a sudden strong accent on this note");
    check("molto cresc.", Change, "getting much louder");
    check("poco cresc.", Change, "getting a little louder");
    check("più cresc.", Change, "getting even louder");
    check("cresc. poco a poco", Change, "getting louder little by little");
    check("poco a poco cresc.", Change, "getting louder little by little");
    check("sempre piu crescendo", Change, "getting louder and louder");
    check("cresc. e rit.", Change, "getting louder and slowing down");
    check("cre - scen - do", Change, "getting louder");
    check("immer leiser werdend", Change, "getting softer all the time");
    check("fast unhörbar", Dynamic, "almost barely heard");
}

#[test]
fn character_technique_articulation() {
    use Kind::{Articulation, Character, Technique};
    check("con molto sentimento", Character, "with much feeling");
    check(
        "Mit innigster Empfindung",
        Character,
        "with most heartfelt feeling",
    );
    check("mit Kraft", Character, "with strength");
    check("ohne Ausdruck", Character, "without expression");
    check("avec charme", Character, "with charm");
    check("con grazia e dolcezza", Character, "with grace and sweetness");
    check("più espressivo", Character, "more expressive");
    check("con gran espressione", Character, "with great expression");
    check("Avec beaucoup d'expression", Character, "with much expression");
    check("Mit großem Ausdruck", Character, "with great expression");
    check("Wieder ruhig", Character, "again calm");
    check("en dehors", Character, "brought out, prominent");
    check("sempre stacc.", Articulation, "always short and detached");
    check(
        "la melodia sempre marcata",
        Articulation,
        "the melody, always marked",
    );
    check("leggiero ma marcato", Articulation, "light, but marked");
    check("col punto d'arco", Technique, "with the point of the bow");
    check("con sord.", Technique, "with the mute");
    check("senza sord.", Technique, "without the mute");
    check("8va", Technique, "an octave higher than written");
    check("a2", Technique, "both players on the same line");
    check("G.P.", Technique, "everyone silent");
    check("m.d.", Technique, "right hand");
    check("div.", Technique, "divided between the players");
    check("sul pont.", Technique, "bow close to the bridge, glassy");
}

#[test]
fn road_map_words_have_meanings() {
    use Kind::RoadMap;
    check(
        "D.C. al Fine",
        RoadMap,
        "go back to the beginning and play to the word Fine",
    );
    check(
        "Menuetto da capo senza Ritornello.",
        RoadMap,
        "go back to the beginning, without the repeats",
    );
    check(
        "D.S. 𝄋 al 𝄌",
        RoadMap,
        "go back to the sign, then leap to the coda at its sign",
    );
    check("V.S.", RoadMap, "turn the page quickly");
    check("Heilig (2 x)", RoadMap, "play it 2 times in all");
}

#[test]
fn small_words_alone() {
    check("sempre", Kind::Modifier, "all the time");
    check("poco a poco", Kind::Modifier, "little by little");
    check("molto", Kind::Modifier, "a great deal");
    assert_eq!(read("la").meaning, None);
    assert_eq!(read("e").meaning, None);
}

#[test]
fn misspellings_are_read_and_said() {
    for (text, of, meaning) in [
        ("Allegreto", "allegretto", "fairly fast, lighter than allegro"),
        ("cresendo", "crescendo", "getting louder"),
        ("ritardano", "ritardando", "slowing down"),
        ("Andate", "andante", "at a walking pace"),
        ("Moderatto", "moderato", "moderate, neither fast nor slow"),
        ("stacatto", "staccato", "short and detached"),
        ("langsamm", "langsam", "slow"),
    ] {
        let reading = read(text);
        assert_eq!(reading.meaning.as_deref(), Some(meaning), "{text}");
        assert_eq!(
            reading.words[0].spelling,
            Spelling::Misspelt { of: of.to_owned() },
            "{text}"
        );
        assert_eq!(reading.words[0].text, text);
    }
    let reading = read("Andate con moto");
    assert_eq!(reading.meaning.as_deref(), Some("at a walking pace, with motion"));
}

#[test]
fn other_forms_are_variants() {
    for (text, lemma) in [
        ("tranquilla", "tranquillo"),
        ("passionnée", "passionné"),
        ("feurigen", "feurig"),
        ("lente", "lento"),
    ] {
        let word = read(text).words.remove(0);
        assert_eq!(
            (word.lemma.as_str(), word.spelling),
            (lemma, Spelling::Variant),
            "{text}"
        );
    }
    assert_eq!(
        read("misteriosissimo").meaning.as_deref(),
        Some("extremely mysterious")
    );
}

#[test]
fn what_is_no_term_stays_unknown_or_plain() {
    for text in [
        "Mozart",
        "Ossana",
        "Laudamus te",
        "UT ORPHEUS EDIZIONI",
        "The brown fox",
        "to be with you",
        "Behüt uns",
        "qzx",
    ] {
        let reading = read(text);
        assert_eq!(reading.meaning, None, "{text}: {reading:?}");
        assert!(!reading.unknown.is_empty(), "{text}");
    }
    for text in ["A", "12", "24b", "♩ = 96", "II", "C.", "Bb", "", "…", "(1)"] {
        let reading = read(text);
        assert!(
            reading.meaning.is_none() && reading.unknown.is_empty(),
            "{text}: {reading:?}"
        );
    }
    let reading = read("W. A. Mozart");
    assert_eq!(
        (reading.unknown, reading.plain),
        (vec!["Mozart".to_owned()], vec!["W".to_owned(), "A".to_owned()])
    );
    let fine = read("It was a fine day");
    assert_eq!(fine.meaning, None);
}

#[test]
fn names_of_instruments_are_never_corrected() {
    for text in [
        "Viola",
        "Violin",
        "Violin I",
        "Solo",
        "Clarinet in Bb",
        "Horn in F",
        "Flöte",
        "Basson",
        "Alto Sax",
    ] {
        let reading = read(text);
        assert!(reading.unknown.is_empty(), "{text}: {:?}", reading.unknown);
        for word in reading.words {
            assert_eq!(word.spelling, Spelling::Exact, "{text}");
        }
    }
}

#[test]
fn an_unknown_word_is_named_beside_the_known() {
    let reading = read("Allegro zurbolando, con fuoco");
    assert_eq!(reading.meaning.as_deref(), Some("fast, with fire"));
    assert_eq!(reading.unknown, ["zurbolando"]);
}

#[test]
fn traps_and_advice_come_along() {
    assert!(
        read("assez vif")
            .traps()
            .iter()
            .any(|trap| trap.contains("assai means very"))
    );
    assert!(
        read("Allegro assai")
            .traps()
            .iter()
            .any(|trap| trap.contains("assez means fairly"))
    );
    assert!(
        read("a tempo")
            .advice()
            .iter()
            .any(|advice| advice.contains("before the change"))
    );
}

#[test]
fn pieces_carry_their_kinds_and_places() {
    let text = "Allegro con brio, sempre p";
    let reading = read(text);
    assert_eq!(reading.kinds, [Kind::Tempo, Kind::Character, Kind::Dynamic]);
    let pieces: Vec<&str> = reading
        .units
        .iter()
        .map(|unit| &text[unit.range.clone()])
        .collect();
    assert_eq!(pieces, ["Allegro", "con brio", "sempre p"]);
    assert_eq!(Kind::ChangeOfDynamic.survey_name(), "dynamic");
}

#[test]
fn a_slip_in_a_small_word_keeps_the_meaning_of_the_whole() {
    let reading = read("Allegreto non tropo");
    assert_eq!(reading.meaning.as_deref(), Some("fairly fast, not too much"));
    assert_eq!(reading.kind, Some(Kind::Tempo));
    let meant: Vec<&str> = reading
        .words
        .iter()
        .filter_map(|word| match &word.spelling {
            Spelling::Misspelt { of } => Some(of.as_str()),
            _ => None,
        })
        .collect();
    assert_eq!(meant, ["allegretto", "non troppo"]);
    assert!(reading.unknown.is_empty());
}
