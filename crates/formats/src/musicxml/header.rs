//! What stands before the music? Titles, people, rights, and the list of parts.

use crate::assemble::Score;
use crate::report::{Here, Why};
use crate::xml::El;
use notation::{Finding, Severity};

/// What the part list says of one part.
#[derive(Clone, Debug, Default)]
pub(super) struct PartInfo {
    pub id: String,
    pub name: String,
    pub abbreviation: String,
    /// How the part is called in messages.
    pub shown_name: String,
    /// Its instruments: id, name, sound.
    pub instruments: Vec<(String, String, Option<String>)>,
    pub midi_program: Option<u8>,
}

/// The part list.
#[derive(Debug, Default)]
pub(super) struct Header {
    parts: Vec<PartInfo>,
    taken: Vec<String>,
}

impl Header {
    /// Reads one element that stands before the first part.
    pub(super) fn element(&mut self, el: El<'_, '_>, score: &mut Score) {
        let credits = &mut score.piece.credits;
        match el.name() {
            "work" => {
                for child in el.children() {
                    match child.name() {
                        "work-title" => credits.title = filled(child.text()),
                        "work-number" => credits.numbers.extend(filled(child.text())),
                        // A link to the file that lists the whole work.
                        "opus" => {}
                        other => score.report.unread(other, "work", Why::Unknown, Here::default),
                    }
                }
            }
            "movement-title" => credits.movement = filled(el.text()),
            "movement-number" => credits.numbers.extend(filled(el.text())),
            "identification" => identification(el, score),
            "defaults" => {
                if el.child("concert-score").is_some() {
                    score.piece.concert_pitch = true;
                }
            }
            "credit" => {
                let words: Vec<&str> = el
                    .children()
                    .filter(|child| child.name() == "credit-words")
                    .map(|child| child.raw_text().trim())
                    .filter(|text| !text.is_empty())
                    .collect();
                score.piece.credits.page_words.extend(filled(&words.join(" ")));
            }
            "part-list" => self.part_list(el, score),
            other => unread(score, other, "score"),
        }
    }

    fn part_list(&mut self, el: El<'_, '_>, score: &mut Score) {
        for child in el.children() {
            match child.name() {
                "score-part" if self.parts.len() >= 2_000 => unread(score, "score-part", "part-list"),
                "score-part" => self.parts.push(score_part(child, score)),
                // Brackets and braces that join parts: layout.
                "part-group" => {}
                other => unread(score, other, "part-list"),
            }
        }
    }

    /// The info of the part whose music starts; made up, with a finding, if the list does not name it.
    pub(super) fn take_part(&mut self, id: &str, score: &mut Score) -> PartInfo {
        let number = score.piece.parts.len() + 1;
        let listed = self.parts.iter().find(|part| part.id == id).cloned();
        let mut info = listed.unwrap_or_else(|| {
            score.caution(
                "part-not-listed",
                format!(
                    "part {number} (“{}”) is missing from the list of parts",
                    short(id)
                ),
                "give it a name if you know its instrument",
            );
            PartInfo {
                id: id.to_owned(),
                ..PartInfo::default()
            }
        });
        if self.taken.iter().any(|taken| taken == id) {
            score.caution(
                "part-twice",
                format!(
                    "part “{}” stands in the file twice; both are kept as parts of their own",
                    short(id)
                ),
                "choose by number",
            );
        }
        self.taken.push(id.to_owned());
        info.shown_name = if info.name.trim().is_empty() {
            format!("part {number}")
        } else {
            info.name.clone()
        };
        info
    }

    /// How many parts are likely still to come, with the one whose music has started; at least one. Where more came than are
    /// listed, as many again, so that nobody makes room for the whole text a thousand times.
    pub(super) fn to_come(&self) -> usize {
        let (listed, taken) = (self.parts.len(), self.taken.len());
        if taken > listed { taken } else { listed + 1 - taken }
    }

    /// Reports listed parts without music.
    pub(super) fn unplayed(&self, score: &mut Score) {
        for part in self.parts.iter().filter(|part| !self.taken.contains(&part.id)) {
            score.caution(
                "part-without-music",
                format!(
                    "the list of parts names “{}”, but the file holds no music for it",
                    part.name
                ),
                "look whether the export was complete",
            );
        }
    }
}

fn unread(score: &mut Score, name: &str, inside: &str) {
    score.report.unread(name, inside, Why::Unknown, Here::default);
}

fn short(text: &str) -> String {
    text.chars().take(60).collect()
}

fn filled(text: &str) -> Option<String> {
    let text = text.trim();
    (!text.is_empty()).then(|| text.replace("\r\n", "\n"))
}

fn identification(el: El<'_, '_>, score: &mut Score) {
    for child in el.children() {
        let credits = &mut score.piece.credits;
        match child.name() {
            "creator" => {
                let role = child.attr("type").unwrap_or_default().to_owned();
                credits
                    .people
                    .extend(filled(child.text()).map(|name| (role, name)));
            }
            "rights" => credits.rights.extend(filled(child.text())),
            "encoding" => {
                for line in child.children() {
                    let said = match line.name() {
                        "supports" => continue,
                        "encoder" | "software" | "encoding-description" | "encoding-date" => {
                            filled(line.text())
                        }
                        other => {
                            unread(score, other, "encoding");
                            continue;
                        }
                    };
                    score.piece.provenance.encoding.extend(said);
                }
            }
            "source" => {
                let source = filled(child.text()).map(|text| format!("source: {text}"));
                score.piece.provenance.encoding.extend(source);
            }
            // A link to another document, and notes of programs to themselves.
            "relation" | "miscellaneous" => {}
            other => unread(score, other, "identification"),
        }
    }
}

fn score_part(el: El<'_, '_>, score: &mut Score) -> PartInfo {
    let mut info = PartInfo {
        id: el.attr("id").unwrap_or_default().to_owned(),
        ..PartInfo::default()
    };
    for child in el.children() {
        match child.name() {
            "part-name" => info.name = one_line(child.text()),
            "part-abbreviation" => info.abbreviation = one_line(child.text()),
            "score-instrument" => {
                let id = child.attr("id").unwrap_or_default().to_owned();
                let name = one_line(child.child_text("instrument-name").unwrap_or_default());
                let sound = child
                    .child_text("instrument-sound")
                    .map(str::to_owned)
                    .filter(|s| !s.is_empty());
                info.instruments.push((id, name, sound));
            }
            "midi-instrument" => {
                let program = child
                    .child_text("midi-program")
                    .and_then(|text| text.parse().ok());
                info.midi_program = info.midi_program.or(program.filter(|n| (1..=128).contains(n)));
            }
            // Display forms of the names, links, groups of players and devices.
            "identification"
            | "part-link"
            | "part-name-display"
            | "part-abbreviation-display"
            | "group"
            | "midi-device"
            | "player" => {}
            other => unread(score, other, "score-part"),
        }
    }
    if info.id.is_empty() {
        score.report.push(Finding::new(
            Severity::Caution,
            "part-not-listed",
            format!("the part “{}” in the list of parts has no id", short(&info.name)),
            "export the piece again if its music is missing",
        ));
    }
    info
}

/// A name without the line breaks of its printed form.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Room is made for a share of the text that is left: over a thousand parts that nobody listed, some times the text, not a thousand times.
    #[test]
    fn the_rest_of_the_text_is_shared_out_among_the_parts_to_come() {
        let mut header = Header {
            parts: vec![PartInfo::default(); 3],
            ..Header::default()
        };
        let shares = |header: &mut Header, parts: usize| -> Vec<usize> {
            (0..parts)
                .map(|_| {
                    header.taken.push(String::new());
                    header.to_come()
                })
                .collect()
        };
        assert_eq!(shares(&mut header, 5), [3, 2, 1, 4, 5]);
        let mut header = Header::default();
        let among: f64 = shares(&mut header, 1000)
            .into_iter()
            .filter_map(|n| u32::try_from(n).ok())
            .map(|n| 1.0 / f64::from(n))
            .sum();
        assert!(among < 8.0, "{among}");
    }
}
