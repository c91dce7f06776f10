//! What does a part's name say? Its words, folded, and the pitch that the instrument stands in.

/// Lower case, accents and points off, flats and sharps as letters, one space between words.
pub(crate) fn fold(name: &str) -> String {
    let mut folded = String::with_capacity(name.len());
    for c in name.chars() {
        let plain = match c {
            'ä' | 'à' | 'â' | 'á' | 'Ä' | 'À' | 'Á' => 'a',
            'ö' | 'ô' | 'ò' | 'ó' | 'Ö' | 'Ó' => 'o',
            'ü' | 'û' | 'ù' | 'ú' | 'Ü' | 'Ú' => 'u',
            'é' | 'è' | 'ê' | 'ë' | 'É' | 'È' => 'e',
            'í' | 'ì' | 'î' | 'ï' => 'i',
            'ç' | 'Ç' => 'c',
            'ñ' => 'n',
            '♭' => 'b',
            '♯' => '#',
            'ß' => 's',
            c if c.is_alphanumeric() || c == '#' => c,
            _ => ' ',
        };
        folded.extend(plain.to_lowercase());
    }
    folded.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A name taken apart: the words of the instrument, and the pitch it stands in.
pub(crate) struct Name {
    pub(crate) words: Vec<String>,
    pub(crate) pitch: Option<String>,
}

pub(crate) fn take_apart(name: &str) -> Name {
    let folded = fold(name);
    let tokens: Vec<&str> = folded.split(' ').filter(|token| !token.is_empty()).collect();
    let mut words: Vec<String> = Vec::new();
    let mut pitch = None;
    let mut at = 0;
    while let Some(token) = tokens.get(at).copied() {
        let after_in = at > 0 && matches!(tokens.get(at - 1).copied(), Some("in" | "en"));
        if let Some((letters, used)) = pitch_name(&tokens[at..], after_in) {
            // "in" and "en" belong to the pitch, not to the instrument.
            if after_in {
                words.pop();
            }
            pitch = pitch.or(Some(letters));
            at += used;
            continue;
        }
        if !is_number(token) {
            words.push(token.to_owned());
        }
        at += 1;
    }
    Name { words, pitch }
}

/// A desk number or the like: no part of the instrument's name.
fn is_number(token: &str) -> bool {
    token.chars().all(|c| c.is_ascii_digit())
        || matches!(
            token,
            "i" | "ii" | "iii" | "iv" | "solo" | "1st" | "2nd" | "3rd" | "1er" | "2e" | "the" | "part"
        )
}

/// A pitch at the start of the tokens: `b flat`, `bb`, `si b`, `sib`, `es`; how many tokens it takes.
/// A bare letter counts after `in`, or for a name like `A clarinet` where the letter stands first.
pub(crate) fn pitch_name(tokens: &[&str], after_in: bool) -> Option<(String, usize)> {
    let first = *tokens.first()?;
    let second = tokens.get(1).copied().unwrap_or("");
    let flat = matches!(second, "flat" | "b" | "bemolle" | "bemol");
    let letter = match first {
        "do" | "ut" => "C",
        "re" => "D",
        "mi" => "E",
        "fa" => "F",
        "sol" => "G",
        "la" => "A",
        "si" => "B",
        _ => "",
    };
    if !letter.is_empty() && (after_in || flat) {
        return Some(if flat {
            (format!("{letter}b"), 2)
        } else {
            (letter.to_owned(), 1)
        });
    }
    if matches!(first, "a" | "b" | "c" | "d" | "e" | "f" | "g") && second == "flat" {
        return Some((format!("{}b", first.to_uppercase()), 2));
    }
    let one = |letters: &str| Some((letters.to_owned(), 1));
    match first {
        "bb" | "sib" => one("Bb"),
        "eb" | "mib" => one("Eb"),
        "ab" | "lab" => one("Ab"),
        "db" if after_in => one("Db"),
        "es" => one("Eb"),
        "as" if after_in => one("Ab"),
        "des" if after_in => one("Db"),
        // German B is B flat; instruments in B natural are all but unknown.
        "b" if after_in => one("Bb"),
        "h" if after_in => one("B"),
        "a" | "c" | "d" | "e" | "f" | "g" if after_in => one(&first.to_uppercase()),
        // "A-Klarinette", "F horn", "C trumpet".
        "a" | "c" | "d" | "f" if second_is_keyed(second) => one(&first.to_uppercase()),
        "b" if matches!(second, "klarinette" | "trompete") => one("Bb"),
        _ => None,
    }
}

fn second_is_keyed(second: &str) -> bool {
    matches!(
        second,
        "clarinet"
            | "klarinette"
            | "clarinette"
            | "trumpet"
            | "trompete"
            | "trompette"
            | "horn"
            | "corno"
            | "cor"
    )
}
