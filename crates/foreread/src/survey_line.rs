//! What does the plain line of a survey ask? Read by itself, without the commands and their help being made first.
//!
//! Clap makes all that a command can be told, with its help, before it reads a word: a tenth of the time that a short survey takes. A line of
//! the plainest words (a piece, `--part`, `--tune`, `--questions`, `--as`, `--instrument`, `--level`, each once and with a value) means the same
//! without it. Whatever is not such a line, and every mistake, is clap's.

use crate::piece::PieceArgs;
use crate::player::PlayerArgs;
use crate::survey_command::{As, SurveyArgs};
use clap::Parser;
use std::ffi::OsString;
use std::path::PathBuf;

/// A survey's line alone: of the whole program's commands clap would make every one, which takes as long as a short survey.
#[derive(Debug, Parser)]
struct SurveyLine {
    #[command(flatten)]
    survey: SurveyArgs,
}

/// What a survey was asked by the words behind `survey`; `None` for help and mistakes.
pub(crate) fn read(words: &[OsString]) -> Option<SurveyArgs> {
    plain(words).or_else(|| by_clap(words))
}

fn by_clap(words: &[OsString]) -> Option<SurveyArgs> {
    let line = std::iter::once("survey".into()).chain(words.iter().cloned());
    SurveyLine::try_parse_from(line).ok().map(|line| line.survey)
}

/// The plainest lines; `None` for all others.
fn plain(words: &[OsString]) -> Option<SurveyArgs> {
    let mut words = words.iter().map(|word| word.to_str());
    let (mut piece, mut tune, mut part, mut form) = (None, None, None, None);
    let (mut questions, mut instrument, mut level) = (None, None, None);
    while let Some(word) = words.next() {
        let word = word?;
        let told = match word {
            "--part" => &mut part,
            "--tune" => &mut tune,
            "--questions" => &mut questions,
            "--as" => &mut form,
            "--instrument" => &mut instrument,
            "--level" => &mut level,
            _ if word.starts_with('-') => return None,
            _ => &mut piece,
        };
        let value = if word.starts_with("--") {
            words.next()??
        } else {
            word
        };
        if value.is_empty() || value.starts_with('-') || told.replace(value).is_some() {
            return None;
        }
    }
    let questions: Vec<String> = questions
        .into_iter()
        .flat_map(|list| list.split(','))
        .map(str::to_owned)
        .collect();
    if questions.iter().any(String::is_empty) {
        return None;
    }
    let form = match form {
        None | Some("text") => As::Text,
        Some("json") => As::Json,
        Some("html") => As::Html,
        Some(_) => return None,
    };
    let piece = PieceArgs {
        piece: PathBuf::from(piece?),
        tune: tune.map(str::to_owned),
        part: part.map(str::to_owned),
    };
    let player = PlayerArgs::of(instrument.map(str::to_owned), level.map(str::to_owned));
    Some(SurveyArgs::of(piece, form, questions, player))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(line: &str) -> Vec<OsString> {
        line.split(' ').map(OsString::from).collect()
    }

    #[test]
    fn plain_lines_need_no_help_to_be_made() {
        for line in [
            "jig.abc",
            "jig.abc --part 1 --as json --questions key,range",
            "--as html --tune #3 book.abc",
            "--instrument oboe --level student jig.abc --part Oboe",
        ] {
            assert!(plain(&words(line)).is_some(), "{line}");
        }
    }

    #[test]
    fn mistakes_and_other_lines_are_not_taken() {
        for line in [
            "",
            "-",
            "--",
            "--help",
            "jig.abc reel.abc",
            "jig.abc --part",
            "jig.abc --part -1",
            "jig.abc --part 1 --part 2",
            "jig.abc --as song",
            "jig.abc --as JSON",
            "jig.abc --questions key,,range",
            "jig.abc --part=1",
            "jig.abc --width 70",
            "--width jig.abc",
        ] {
            assert!(plain(&words(line)).is_none(), "{line}");
        }
    }

    /// Lines of all such words in every order mean what they mean to clap.
    #[test]
    fn a_plain_line_means_what_it_means_to_clap() {
        let of = [
            "jig.abc",
            "reel abc",
            "--part",
            "1",
            "Oboe",
            "--as",
            "json",
            "text",
            "jsonl",
            "--questions",
            "key,range",
            "a,",
            "--tune",
            "#3",
            "--instrument",
            "--level",
            "student",
            "-",
            "--",
            "",
            "--part=1",
            "-1",
            "--width",
            "--help",
            "é",
        ];
        let mut taken = 0;
        let mut state = 20_261_127_u64;
        for _ in 0..60_000 {
            let mut next = || {
                // The multiplier: Knuth, The Art of Computer Programming 2, 3.3.4 (from memory).
                state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                usize::try_from(state >> 40).unwrap_or_default()
            };
            let length = next() % 7;
            let line: Vec<OsString> = (0..length).map(|_| of[next() % of.len()].into()).collect();
            let Some(read) = plain(&line) else { continue };
            taken += 1;
            let by_clap = by_clap(&line).unwrap_or_else(|| panic!("clap does not take {line:?}"));
            assert_eq!(format!("{read:?}"), format!("{by_clap:?}"), "{line:?}");
        }
        assert!(taken > 500, "{taken}");
    }
}
