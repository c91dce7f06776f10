//! Which voices are there, and which share a staff or a part? `V:` and its properties, `%%score` and `%%staves`.
//!
//! Source: ABC 2.1, sections 7.1 (voice properties) and 11.1 (voice grouping).

use super::clef::StaffWords;
use super::key::words;

/// What a `V:` field says of its voice.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct VoiceWords {
    /// Its name for other fields.
    pub id: String,
    /// The name printed at its first staff.
    pub name: Option<String>,
    /// The name printed at later staves.
    pub subname: Option<String>,
    /// Clef, octave, transposition, staff lines.
    pub staff: StaffWords,
    /// Words that are nothing of this.
    pub unknown: Vec<String>,
}

/// Reads the value of a `V:` field.
pub(super) fn voice(text: &str) -> VoiceWords {
    let mut voice = VoiceWords::default();
    let mut words = words(text).into_iter();
    words
        .next()
        .unwrap_or_default()
        .trim_matches('"')
        .clone_into(&mut voice.id);
    for word in words {
        let (name, value) = word
            .split_once('=')
            .map_or((word, None), |(name, value)| (name.trim(), Some(value)));
        let text = |value: Option<&str>| {
            value.map(|v| super::text::plain(v.trim().trim_matches('"')).replace("\\n", " "))
        };
        match name.to_ascii_lowercase().as_str() {
            "name" | "nm" => voice.name = text(value),
            "subname" | "snm" | "sname" => voice.subname = text(value),
            // How it is drawn: brackets, stems, the space around it.
            "merge" | "up" | "down" | "bracket" | "brace" | "brk" | "brc" | "space" | "spc" | "stave"
            | "program" | "auto" | "dyn" => {}
            // An application's own.
            _ if name.contains(':') => {}
            _ => {
                if !voice.staff.take(word) {
                    voice.unknown.push(word.chars().take(60).collect());
                }
            }
        }
    }
    voice
}

/// One part as `%%score` groups its voices: staff by staff.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Group {
    /// For each staff its voices.
    pub staves: Vec<Vec<String>>,
}

/// The parts in score order. Braces make one part of several staves, parentheses one staff of several voices;
/// brackets and bar lines only say how the staves are joined on the page.
pub(super) fn score(text: &str) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    let (mut brace, mut paren, mut floats) = (false, false, false);
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let mut taken = first.len_utf8();
        match first {
            '{' => {
                brace = true;
                groups.push(Group::default());
            }
            '}' => brace = false,
            '(' => {
                paren = true;
                open_staff(&mut groups, brace);
            }
            ')' => paren = false,
            '*' => floats = true,
            '[' | ']' | '|' | ',' => {}
            _ if first.is_whitespace() => {}
            _ => {
                let end = rest
                    .find(|c: char| c.is_whitespace() || "{}()[]|*,".contains(c))
                    .unwrap_or(rest.len());
                let id = rest.get(..end).unwrap_or_default().to_owned();
                taken = end.max(taken);
                let floating = std::mem::take(&mut floats) && !paren;
                let follows = floating && groups.last().is_some_and(|group| !group.staves.is_empty());
                if !paren && !follows {
                    open_staff(&mut groups, brace);
                }
                if let Some(staff) = groups.last_mut().and_then(|group| group.staves.last_mut()) {
                    staff.push(id);
                }
            }
        }
        rest = rest.get(taken..).unwrap_or_default();
    }
    for group in &mut groups {
        group.staves.retain(|staff| !staff.is_empty());
    }
    groups.retain(|group| !group.staves.is_empty());
    groups
}

fn open_staff(groups: &mut Vec<Group>, brace: bool) {
    if !brace || groups.is_empty() {
        groups.push(Group::default());
    }
    if let Some(group) = groups.last_mut() {
        group.staves.push(Vec::new());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn properties_of_a_voice() {
        let voice = voice("T1 name=\"Tenor I\" snm=\"T. I\" clef=treble-8 transpose=-2 stem=up merge swing");
        assert_eq!(voice.id, "T1");
        assert_eq!(voice.name.as_deref(), Some("Tenor I"));
        assert_eq!(voice.subname.as_deref(), Some("T. I"));
        assert_eq!(voice.staff.clef.map(|c| c.octave_change), Some(-1));
        assert_eq!(voice.staff.transpose, Some(-2));
        assert_eq!(voice.unknown, ["swing"]);
    }

    /// Source: ABC 2.1, 11.1, the example of the score directive.
    #[test]
    fn voices_grouped_in_parts_and_staves() {
        let said = |text: &str| -> Vec<String> {
            let staff = |staff: &Vec<String>| staff.join("+");
            score(text)
                .iter()
                .map(|g| g.staves.iter().map(staff).collect::<Vec<_>>().join("/"))
                .collect()
        };
        assert_eq!(
            said("Solo  [(S A) (T B)]  {RH | (LH1 LH2)}"),
            ["Solo", "S+A", "T+B", "RH/LH1+LH2"]
        );
        assert_eq!(said("{RH *M| LH}"), ["RH+M/LH"]);
        assert_eq!(said("[S|A|T|B]"), ["S", "A", "T", "B"]);
        assert_eq!(said("1 2 3"), ["1", "2", "3"]);
        assert_eq!(said("(((({{{"), Vec::<String>::new());
    }
}
