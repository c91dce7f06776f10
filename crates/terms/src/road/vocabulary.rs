//! Which spellings send the player somewhere? Folded word lists, longest match first.

/// Back to the beginning.
pub(super) const DA_CAPO: &[&str] = &[
    "d c",
    "dc",
    "m d c",
    "da capo",
    "dacapo",
    "dal capo",
    "dalcapo",
    "de capo",
    "da cappo",
    "da c",
    "du commencement",
    "depuis le commencement",
    "au commencement",
    "du debut",
    "depuis le debut",
    "au debut",
    "vom anfang",
    "von anfang",
    "vom anfang an",
    "von anfang an",
    "von vorn",
    "von vorne",
    "noch einmal von vorn",
    "from the beginning",
    "from beginning",
    "back to the beginning",
    "back to beginning",
    "from the top",
    "back to the top",
    "go back to the beginning",
    "dal principio",
    "dall inizio",
];

/// Back to the sign. A sign glyph folds to "segno".
pub(super) const DAL_SEGNO: &[&str] = &[
    "d s",
    "ds",
    "dal segno",
    "dalsegno",
    "del segno",
    "dal s",
    "da segno",
    "vom zeichen",
    "vom zeichen an",
    "ab zeichen",
    "du signe",
    "depuis le signe",
    "from the sign",
    "from sign",
    "back to the sign",
    "back to sign",
    "go back to the sign",
    "go to the sign",
    "from segno",
    "vom segno",
    "du segno",
];

/// Play to the end mark.
pub(super) const TO_FINE: &[&str] = &[
    "al fine",
    "alla fine",
    "a fine",
    "a la fine",
    "al fin",
    "fino al fine",
    "fino alla fine",
    "fin al fine",
    "fin alla fine",
    "sino al fine",
    "sino alla fine",
    "sin al fine",
    "sin alla fine",
    "bis zum ende",
    "bis ende",
    "bis zum schluss",
    "bis schluss",
    "bis fine",
    "bis zum fine",
    "zum ende",
    "jusqu a la fin",
    "jusqu a fin",
    "jusqu au mot fin",
    "a la fin",
    "to fine",
    "to the fine",
    "to the end",
    "to end",
    "until fine",
    "until the end",
    "and play to fine",
];

/// Play to the coda sign and leap.
pub(super) const TO_CODA: &[&str] = &[
    "al coda",
    "alla coda",
    "a coda",
    "a la coda",
    "to coda",
    "to the coda",
    "go to coda",
    "go to the coda",
    "jump to coda",
    "zur coda",
    "bis zur coda",
    "e coda",
    "and coda",
    "und coda",
    "et coda",
    "fino alla coda",
];

/// Play to the sign.
pub(super) const TO_SIGN: &[&str] = &[
    "al segno",
    "fino al segno",
    "fin al segno",
    "sino al segno",
    "sin al segno",
    "a segno",
    "bis zum zeichen",
    "bis zeichen",
    "bis zum segno",
    "jusqu au signe",
    "au signe",
    "to the sign",
    "to sign",
    "until the sign",
];

/// And after that the coda.
pub(super) const THEN_CODA: &[&str] = &[
    "e poi coda",
    "e poi la coda",
    "e poi alla coda",
    "poi coda",
    "poi la coda",
    "poi alla coda",
    "poi segue coda",
    "poi segue la coda",
    "e la coda",
    "indi coda",
    "indi la coda",
    "then coda",
    "then the coda",
    "then to coda",
    "dann coda",
    "und dann coda",
    "dann die coda",
    "und dann die coda",
    "puis coda",
    "puis la coda",
    "et puis la coda",
    "segue coda",
    "segue la coda",
];

/// Words for the repeats themselves.
pub(super) const REPEAT_NOUNS: &[&str] = &[
    "replica",
    "repliche",
    "repetizione",
    "repetizioni",
    "ripetizione",
    "ripetizioni",
    "ritornello",
    "ritornelli",
    "repeat",
    "repeats",
    "rep",
    "repet",
    "ripet",
    "repl",
    "wiederholung",
    "wiederholungen",
    "wdh",
    "wiederh",
    "reprise",
    "reprises",
    "repetition",
    "repetitions",
    "repetitioni",
    "ripresa",
    "riprese",
    "replicarlo",
    "replicarla",
    "replicare",
    "replicar",
    "ripetere",
];

/// Words that say "without" before them.
pub(super) const WITHOUT: &[&str] = &["senza", "senz", "ohne", "sans", "without", "no", "omit"];
/// Words that say "with" before them.
pub(super) const WITH: &[&str] = &[
    "con", "col", "colla", "coi", "colle", "mit", "avec", "with", "take",
];

/// Small words that may stand inside a road sentence.
pub(super) const FILLERS: &[&str] = &[
    "e", "ed", "and", "und", "et", "ma", "but", "il", "la", "lo", "le", "the", "das", "den", "der", "die",
    "poi", "subito", "si", "play", "playing", "go", "al", "of", "del", "dell", "della", "du", "des", "no",
    "again", "then",
];

/// Names of sections that are taken again.
pub(super) const SECTIONS: &[&str] = &[
    "minuetto",
    "menuetto",
    "menuett",
    "menuet",
    "minuet",
    "minuets",
    "men",
    "min",
    "minore",
    "maggiore",
    "scherzo",
    "marcia",
    "march",
    "marche",
    "marsch",
    "valse",
    "waltz",
    "walzer",
    "valzer",
    "polonaise",
    "polacca",
    "gavotte",
    "gavotta",
    "bourree",
    "trio",
    "tema",
    "aria",
    "allegro",
    "rondo",
    "musette",
    "polka",
    "mazurka",
    "landler",
];

/// Straight on to the next section.
pub(super) const ATTACCA: &[&str] = &[
    "attacca",
    "attaca",
    "atacca",
    "attacca subito",
    "attaca subito",
    "enchainez",
    "attacca il seguente",
];
/// The next section follows.
pub(super) const SEGUE: &[&str] = &["segue", "segue subito", "seg"];
/// Turn the page.
pub(super) const TURN: &[&str] = &[
    "v s",
    "vs",
    "volti subito",
    "volti",
    "volti pagina",
    "tournez vite",
    "tournez",
    "turn quickly",
    "schnell wenden",
];
/// Silent.
pub(super) const TACET: &[&str] = &["tacet", "tacent", "tac", "tace"];
/// Repeat without a fixed number.
pub(super) const FREELY: &[&str] = &[
    "repeat until",
    "repeat till",
    "repeat ad lib",
    "repeat ad libitum",
    "repeat and fade",
    "repeat to fade",
    "repeat as needed",
    "repeat as necessary",
    "vamp",
    "vamp until",
    "vamp till",
    "vamp till cue",
    "vamp till ready",
    "till ready",
    "open repeat",
    "ad lib repeat",
];
/// Repeat the section, standing alone.
pub(super) const REPEAT_ALONE: &[&str] = &[
    "repeat",
    "replica",
    "si replica",
    "wiederholen",
    "wiederholung",
    "ripetizione",
    "repetizione",
    "reprise",
    "rep",
];
/// The end of the piece, standing alone.
pub(super) const FINE: &[&str] = &[
    "fine", "il fine", "la fine", "fin", "ende", "das ende", "the end", "finis", "schluss",
];

/// Words for a pass: "2nd time", "seconda volta".
pub(super) const TIME_WORDS: &[&str] = &[
    "time", "times", "volta", "volte", "fois", "mal", "x", "pass", "x only",
];
/// Words that may open or close a pass.
pub(super) const PASS_FILLERS: &[&str] = &[
    "only",
    "solo",
    "play",
    "nur",
    "beim",
    "das",
    "la",
    "le",
    "a",
    "the",
    "on",
    "seulement",
    "per",
    "solamente",
    "al",
];

/// The pass that an ordinal names; 0 for the last.
pub(super) fn ordinal(word: &str) -> Option<u8> {
    Some(match word {
        "first" | "1st" | "prima" | "1ma" | "1a" | "1ere" | "1re" | "1er" | "premiere" | "erstes"
        | "ersten" | "erste" | "1mo" | "ima" => 1,
        "second" | "2nd" | "seconda" | "2da" | "2a" | "2nda" | "2e" | "2eme" | "2de" | "2d" | "seconde"
        | "deuxieme" | "zweites" | "zweiten" | "zweite" | "iida" => 2,
        "third" | "3rd" | "terza" | "3a" | "3za" | "3e" | "3eme" | "troisieme" | "drittes" | "dritten"
        | "dritte" => 3,
        "fourth" | "4th" | "quarta" | "4a" | "4ta" | "4e" | "4eme" | "quatrieme" | "viertes" | "vierten" => 4,
        "last" | "ultima" | "derniere" | "letztes" | "letzten" | "letzte" => 0,
        _ => return None,
    })
}

/// A number of times written as a word.
pub(super) fn number_word(word: &str) -> Option<u8> {
    Some(match word {
        "two" | "due" | "deux" | "zwei" => 2,
        "three" | "tre" | "trois" | "drei" => 3,
        "four" | "quattro" | "quatre" | "vier" => 4,
        "five" | "cinque" | "cinq" | "funf" => 5,
        "six" | "sei" | "sechs" => 6,
        "seven" | "sette" | "sept" | "sieben" => 7,
        "eight" | "otto" | "huit" | "acht" => 8,
        _ => return None,
    })
}

/// A whole count in one word.
pub(super) fn times_word(word: &str) -> Option<u8> {
    Some(match word {
        "twice" | "zweimal" => 2,
        "thrice" | "dreimal" => 3,
        "viermal" => 4,
        _ => return None,
    })
}
