//! How does a teacher say it? Digits, keys and whole fingerings in words, for a screen reader and for reasons.

use super::chart::{Fingering, Layout};
use super::hand::{Digit, Keys};

/// What a key is called on an instrument: `the low B♭ key`, `the whisper key`, `its hole`.
///
/// Clarinet keys of the little fingers are named by both notes they give, as players do.
#[must_use]
pub fn key_words(chart: &str, digit: Digit, key: &str) -> String {
    let little = matches!(digit, Digit::L4 | Digit::R4);
    if chart == "clarinet"
        && little
        && let Some(both) = clarinet_little(key)
    {
        return format!("the {both} key");
    }
    let name = match key {
        "o" => return home_words(chart, digit).to_owned(),
        "h" => return "half of its hole".to_owned(),
        "W" => return "the whisper key".to_owned(),
        "R" => return "the register key".to_owned(),
        "O" => return "the octave key".to_owned(),
        "O1" => return "the first octave key".to_owned(),
        "O2" => return "the second octave key".to_owned(),
        "lev" => return "the B♭ lever".to_owned(),
        "bis" => return "the bis key".to_owned(),
        "fF" => return "the front F key".to_owned(),
        "f#" => return "the fork F♯ key".to_owned(),
        "hF#" => return "the high F♯ key".to_owned(),
        "slEb" => return "the sliver key".to_owned(),
        "slBF#" => return "the fork key".to_owned(),
        "tr1" => return "the first trill key".to_owned(),
        "tr2" => return "the second trill key".to_owned(),
        "s1" | "s2" | "s3" | "s4" => return format!("side key {}", key.trim_start_matches('s')),
        low if low.len() > 1 && low.starts_with('l') => format!("low {}", &low[1..]),
        other => other.to_owned(),
    };
    let palm = if chart == "saxophone" {
        match digit {
            Digit::LP => "palm ",
            Digit::RP => "side ",
            Digit::L4 if key != "G#" => "low ",
            Digit::R4 if key == "C" => "low ",
            _ => "",
        }
    } else {
        ""
    };
    format!("the {palm}{} key", signs(&name))
}

fn clarinet_little(key: &str) -> Option<&'static str> {
    Some(match key {
        "E" => "E/B",
        "F" => "F/C",
        "F#" => "F♯/C♯",
        "G#" => "A♭/E♭",
        "C#" => "C♯/G♯",
        _ => return None,
    })
}

fn home_words(chart: &str, digit: Digit) -> &'static str {
    match (chart, digit) {
        ("flute", Digit::LT) => "the B key",
        ("flute" | "saxophone", _) => "its key",
        _ => "its hole",
    }
}

fn signs(name: &str) -> String {
    name.replace('#', "♯")
        .replace("Ab", "A♭")
        .replace("Bb", "B♭")
        .replace("Eb", "E♭")
}

/// Keys in words, joined with `and`.
#[must_use]
pub fn keys_words(chart: &str, digit: Digit, keys: Keys) -> String {
    let all: Vec<String> = keys.names().map(|key| key_words(chart, digit, key)).collect();
    all.join(" and ")
}

/// Several digits in words: `left thumb and right index finger`; fingers of one hand together: `left index, middle and
/// ring fingers`.
#[must_use]
pub fn digits_words(digits: &[Digit]) -> String {
    let mut groups: Vec<String> = Vec::new();
    for left in [true, false] {
        let hand = if left { "left" } else { "right" };
        let of_hand: Vec<Digit> = digits.iter().copied().filter(|d| d.is_left() == left).collect();
        let fingers: Vec<&str> = of_hand.iter().filter_map(|digit| finger(*digit)).collect();
        if of_hand.contains(&Digit::LT) || of_hand.contains(&Digit::RT) {
            groups.push(format!("{hand} thumb"));
        }
        match fingers.as_slice() {
            [] => {}
            [one] => groups.push(format!("{hand} {one} finger")),
            several => groups.push(format!("{hand} {} fingers", listed(several))),
        }
        for digit in of_hand.iter().filter(|d| matches!(d, Digit::LP | Digit::RP)) {
            groups.push(digit.words().to_owned());
        }
    }
    let groups: Vec<&str> = groups.iter().map(String::as_str).collect();
    listed(&groups)
}

const fn finger(digit: Digit) -> Option<&'static str> {
    match digit {
        Digit::L1 | Digit::R1 => Some("index"),
        Digit::L2 | Digit::R2 => Some("middle"),
        Digit::L3 | Digit::R3 => Some("ring"),
        Digit::L4 | Digit::R4 => Some("little"),
        _ => None,
    }
}

fn listed(items: &[&str]) -> String {
    match items {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// A whole fingering in words, for a screen reader: `left hand: thumb, 1, 2, 3; right hand: 1, 2, 4 on the E♭ key`.
#[must_use]
pub fn fingering_words(fingering: &Fingering) -> String {
    let chart = fingering.chart;
    if let Some(position) = fingering.position {
        return position.words();
    }
    if matches!(fingering.layout, Layout::Valves(_)) {
        return valves_words(fingering);
    }
    let mut said = Vec::new();
    for left in [true, false] {
        let fingers: Vec<String> = fingering
            .state
            .pressed()
            .filter(|(digit, _)| digit.is_left() == left)
            .map(|(digit, keys)| one_digit(chart, digit, keys))
            .collect();
        if !fingers.is_empty() {
            let hand = if left { "left" } else { "right" };
            said.push(format!("{hand} hand: {}", fingers.join(", ")));
        }
    }
    if let Some((digit, keys)) = fingering.optional {
        said.push(format!(
            "if you like also {} on {}",
            digit.words(),
            keys_words(chart, digit, keys)
        ));
    }
    if said.is_empty() {
        said.push("nothing down".to_owned());
    }
    if !fingering.flick.is_empty() {
        said.push(format!(
            "left thumb flicks or holds the {} key as the note starts",
            fingering.flick
        ));
    }
    said.join("; ")
}

fn valves_words(fingering: &Fingering) -> String {
    let valves: Vec<&str> = [
        (Digit::R1, "1"),
        (Digit::R2, "2"),
        (Digit::R3, "3"),
        (Digit::R4, "4"),
    ]
    .into_iter()
    .filter(|(digit, _)| !fingering.state.of(*digit).is_empty())
    .map(|(_, number)| number)
    .collect();
    let thumb = if fingering.state.of(Digit::LT).is_empty() {
        ""
    } else {
        "thumb (B♭ side), "
    };
    match valves.as_slice() {
        [] => format!("{thumb}open"),
        [one] => format!("{thumb}valve {one}"),
        several => format!("{thumb}valves {}", listed(several)),
    }
}

fn one_digit(chart: &str, digit: Digit, keys: Keys) -> String {
    let number = match digit {
        Digit::LT | Digit::RT => "thumb",
        Digit::LP => "palm",
        Digit::RP => "side",
        Digit::L1 | Digit::R1 => "1",
        Digit::L2 | Digit::R2 => "2",
        Digit::L3 | Digit::R3 => "3",
        Digit::L4 | Digit::R4 => "4",
    };
    if keys == Keys::HOME {
        return number.to_owned();
    }
    if keys == Keys::HALF {
        return format!("{number} half open");
    }
    let home = if keys.contains(Keys::HOME) { " and" } else { " on" };
    format!(
        "{number}{home} {}",
        keys_words(chart, digit, keys.without(Keys::HOME))
    )
}
