//! What evidence do labelled parts give for each key? Writes the rows from which `fit/fit.py` learns the weights.
//!
//! `cargo run --release --example keyrows -- SCORES OUT DUMP …`: SCORES is the folder of the scores that the dumps name
//! (MusicXML is read from there), OUT an existing folder, each DUMP made by `fit/dump.py`.

#[path = "keyrows/dump.rs"]
mod dump;

use dump::Unit;
use notation::{BarIndex, Piece, Place};
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::Path;
use survey::Context;
use survey::key::features::{LAYOUT, candidates};
use survey::key::material::gather;
use survey::key::role::{Role, by_name};
use survey::key::{local, score, signature};

struct Rows {
    numbers: BufWriter<File>,
    about: BufWriter<File>,
}

fn main() -> io::Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [scores, out, dumps @ ..] = args.as_slice() else {
        return Err(io::Error::other(
            "say the folder of scores, the folder to write to, and the dumps",
        ));
    };
    let out = Path::new(out);
    let mut layout = File::create(out.join("layout.tsv"))?;
    for (name, first, columns) in LAYOUT {
        writeln!(layout, "{name}\t{first}\t{columns}")?;
    }
    let mut rows = Rows {
        numbers: BufWriter::new(File::create(out.join("rows.bin"))?),
        about: BufWriter::new(File::create(out.join("meta.tsv"))?),
    };
    for path in dumps {
        let units = dump::read(&std::fs::read_to_string(path)?).map_err(io::Error::other)?;
        for (number, mut unit) in units.into_iter().enumerate() {
            usual_signature(&mut unit);
            let order = from_musicxml(&mut unit, Path::new(scores));
            write_unit(&mut rows, number, &unit, &unit.piece, order.as_deref(), false)?;
            if let Some(part) = cut(&unit, number) {
                write_unit(&mut rows, number, &unit, &part, None, true)?;
            }
        }
    }
    Ok(())
}

/// Essen prints the major signature of the tonic for minor tunes too: put the usual one.
fn usual_signature(unit: &mut Unit) {
    let minor = unit
        .labels
        .first()
        .and_then(|label| label.key)
        .is_some_and(|key| key.minor);
    if unit.tier == "essen" && minor {
        for change in unit.piece.parts.iter_mut().flat_map(|part| &mut part.keys) {
            change.value.fifths = change.value.fifths.map(|count| count - 3);
        }
    }
}

/// Reads a MusicXML unit by our own reader instead, with its play order, where the parts agree.
fn from_musicxml(unit: &mut Unit, scores: &Path) -> Option<Vec<BarIndex>> {
    let musicxml = [".mxl", ".xml", ".musicxml"]
        .iter()
        .any(|end| unit.name.ends_with(end));
    let bytes = musicxml
        .then(|| std::fs::read(scores.join(&unit.name)).ok())
        .flatten()?;
    let (piece, _) = formats::read(&bytes, &unit.name).ok()?;
    (piece.parts.len() == unit.piece.parts.len()).then_some(())?;
    let order = performance::road::unfold(&piece, &performance::road::RoadOptions::default());
    unit.piece = piece;
    Some(order.played.iter().map(|played| played.bar).collect())
}

/// The beginning of a training piece, up to a fermata or bar line near 45, 60 or 75 % of it: what an excerpt looks like.
fn cut(unit: &Unit, number: usize) -> Option<Piece> {
    let piece = &unit.piece;
    if unit.test || piece.bars.len() < 8 || !["chorale", "quartet", "other"].contains(&unit.tier.as_str()) {
        return None;
    }
    let bars = u32::try_from(piece.bars.len()).ok()?;
    let wanted = bars * [45, 60, 75][number % 3] / 100;
    let held = piece
        .parts
        .first()?
        .events
        .iter()
        .filter(|event| !event.fermatas.is_empty());
    let near = held.min_by_key(|event| event.place.bar.0.abs_diff(wanted));
    let place = near
        .filter(|event| event.place.bar.0 * 10 < bars * 9 && event.place.bar.0 > 1)
        .map_or(Place::start_of(BarIndex(wanted)), |event| Place {
            bar: event.place.bar,
            offset: event.end_offset(),
        });
    let mut piece = piece.clone();
    piece
        .bars
        .truncate(place.bar.get() + usize::from(!place.offset.is_zero()));
    let bars = piece.bars.len();
    piece.barlines.retain(|line| line.place.bar.get() + 1 < bars);
    for part in &mut piece.parts {
        part.events.retain(|event| event.place < place);
        part.keys.retain(|change| change.place < place);
        part.index_bars(bars);
    }
    Some(piece)
}

fn write_unit(
    rows: &mut Rows,
    number: usize,
    unit: &Unit,
    piece: &Piece,
    order: Option<&[BarIndex]>,
    is_cut: bool,
) -> io::Result<()> {
    for label in &unit.labels {
        let (Some(truth), Some(ctx)) = (label.key, Context::new(piece, label.part)) else {
            continue;
        };
        let mut material = gather(&ctx, order);
        if material.line.len() < 4 {
            continue;
        }
        let signatures = signature::regions(&ctx);
        let witness = signature::witness(&ctx, &signatures, &material, false);
        let posterior = local::posterior(&material.bars, &[], &local::SETTINGS);
        let score = score::gather(&ctx, order.and_then(|order| order.last().copied()));
        let twice = material.role != Role::Alone && !is_cut;
        for role_hidden in 0..=u8::from(twice) {
            if role_hidden == 1 {
                material.role = hidden_role(unit, &ctx, number + label.part, number);
            }
            let list: Vec<_> = candidates(&material, &witness, &posterior, score.as_ref()).collect();
            let same = |key: survey::key::Tonality| {
                key.pitch_class() == truth.pitch_class() && key.minor == truth.minor
            };
            let Some(gold) = list.iter().position(|candidate| same(candidate.key)) else {
                continue;
            };
            for number in list.iter().flat_map(|candidate| candidate.row) {
                rows.numbers.write_all(&number.to_le_bytes())?;
            }
            let names: Vec<String> = list
                .iter()
                .map(|c| format!("{}{}", c.key.fifths, if c.key.minor { "m" } else { "M" }))
                .collect();
            let spelled = list.get(gold).is_some_and(|c| c.key == truth);
            writeln!(
                rows.about,
                "{}\t{}\t{}\t{}\t{gold}\t{}\t{}\t{}\t{}\t{}\t{}\t{}\t{role_hidden}\t{}\t{}",
                unit.name,
                label.part,
                unit.tier,
                u8::from(unit.test),
                label.scale,
                label.source,
                material.line.len(),
                witness.first,
                piece.parts.len(),
                u8::from(spelled),
                names.join(","),
                u8::from(is_cut),
                u8::from(witness.believed),
            )?;
        }
    }
    Ok(())
}

/// A second row with the part's place in the score hidden, as when the part comes in a file of its own.
fn hidden_role(unit: &Unit, ctx: &Context, turn: usize, number: usize) -> Role {
    let old = unit.tier == "palestrina" || unit.tier == "madrigal";
    if old || ((by_name(&ctx.part.name) == Role::Alone || turn.is_multiple_of(3)) && number.is_multiple_of(2))
    {
        Role::Alone
    } else {
        Role::Player
    }
}
