//! A demo piece studied for a player, with its JSON.

use instruments::{Experience, Instrument};
use load::{Player, Study, Wishes};
use notation::Piece;
use serde_json::Value;
use std::path::Path;
use survey::{Context, Options, Question, Survey};
use wire::Written;

pub struct Case {
    pub name: String,
    pub piece: Piece,
    pub survey: Survey,
    pub study: Study,
    /// The answer as plain types, written for debugging: JSON has no sign for what is not a number.
    pub debug: String,
    pub json: Value,
}

pub fn pieces() -> Vec<(String, Piece)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/pieces");
    let mut paths: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    paths.sort();
    let read = |path: &std::path::PathBuf| {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let (piece, _) = formats::read(&std::fs::read(path).unwrap(), &name).unwrap();
        (name, piece)
    };
    let pieces: Vec<_> = paths.iter().map(read).collect();
    assert!(pieces.len() >= 10);
    pieces
}

/// Studied for a player of an instrument, or of the part's own.
pub fn case(name: &str, piece: &Piece, instrument: Option<&'static Instrument>, level: Experience) -> Case {
    let ctx = Context::new(piece, 0).unwrap();
    let survey = survey::survey(piece, 0, &Question::ALL, &Options::default()).unwrap();
    let own = survey.instrument.as_ref().map(|found| found.instrument);
    let player = Player::usual(instrument.or(own), level);
    let study = load::study(&ctx, &survey, &player, &Wishes::default());
    let mut case = Case {
        name: format!(
            "{name} for {}, {}",
            player.instrument.map_or("anything", |i| i.id),
            level.word()
        ),
        piece: piece.clone(),
        survey,
        study,
        debug: String::new(),
        json: Value::Null,
    };
    let said = wire::survey_json(&case.written(&Question::ALL, true));
    case.debug = format!("{said:?}");
    // As it is read by others: from its text.
    case.json = serde_json::from_str(&wire::survey_text(&case.written(&Question::ALL, true))).unwrap();
    case
}

impl Case {
    fn written<'a>(&'a self, questions: &'a [Question], with_study: bool) -> Written<'a> {
        Written {
            piece: &self.piece,
            tune: None,
            part: 0,
            survey: &self.survey,
            study: with_study.then_some(&self.study),
            questions,
            findings: &[],
        }
    }

    pub fn without_study(&self) -> Value {
        serde_json::to_value(wire::survey_json(&self.written(&Question::ALL, false))).unwrap()
    }

    pub fn beside_the_key_alone(&self) -> Value {
        let bare = survey::survey(&self.piece, 0, &[Question::Key], &Options::default()).unwrap();
        let written = Written {
            survey: &bare,
            ..self.written(&[Question::Key], true)
        };
        serde_json::from_str(&wire::survey_text(&written)).unwrap()
    }
}
