//! Which columns has the table, and where does each value come from?

use super::{Cell, Column, ColumnKind, Seen};
use crate::SurveyJson;
use crate::study::StudySaid;
use crate::{key, metre, range, rhythm, road_map, survey, tempo};
use ColumnKind::{Real, Text, Whole};

/// The columns in their order. New ones are added before `error`, never taken away or moved.
pub const COLUMNS: [Column; 44] = [
    Column {
        name: "file",
        kind: Text,
        unit: "",
        says: "the file, as it was found in the folder",
        value: |seen| text(seen.of.file),
    },
    Column {
        name: "tune",
        kind: Text,
        unit: "",
        says: "its number in the tunebook, as the book gives it",
        value: |seen| maybe(seen.of.tune),
    },
    Column {
        name: "format",
        kind: Text,
        unit: "",
        says: "the standard it is written in",
        value: |seen| piece(seen, |piece| text(&piece.format)),
    },
    Column {
        name: "title",
        kind: Text,
        unit: "",
        says: "title of work and movement",
        value: |seen| piece(seen, |piece| maybe(piece.title.as_deref())),
    },
    Column {
        name: "composer",
        kind: Text,
        unit: "",
        says: "the composer",
        value: |seen| piece(seen, |piece| maybe(piece.composer.as_deref())),
    },
    Column {
        name: "part_number",
        kind: Whole,
        unit: "from 1",
        says: "the part's number in its score",
        value: |seen| seen.of.part.map_or(Cell::Empty, whole),
    },
    Column {
        name: "part",
        kind: Text,
        unit: "",
        says: "the part's printed name",
        value: |seen| piece(seen, |piece| text(&piece.part)),
    },
    Column {
        name: "instrument",
        kind: Text,
        unit: "",
        says: "the instrument",
        value: |seen| piece(seen, |piece| maybe(piece.instrument.as_deref())),
    },
    Column {
        name: "key_tonic",
        kind: Text,
        unit: "written pitch",
        says: "tonic as written: `F`, `Bb`, `C#`",
        value: |seen| key(seen, |key| text(&key.tonic)),
    },
    Column {
        name: "key_mode",
        kind: Text,
        unit: "",
        says: "`major` or `minor`",
        value: |seen| key(seen, |key| text(&key.mode)),
    },
    Column {
        name: "key_scale",
        kind: Text,
        unit: "",
        says: "the mode proper: `major`, `dorian`, `mixolydian` …",
        value: |seen| key(seen, |key| text(&key.scale)),
    },
    Column {
        name: "key_certainty",
        kind: Real,
        unit: "probability, 0 to 1",
        says: "how sure tonic and mode are",
        value: |seen| key(seen, |key| Cell::Real(key.certainty)),
    },
    Column {
        name: "signature",
        kind: Whole,
        unit: "sharps (+) or flats (−)",
        says: "the first key signature",
        value: |seen| {
            key(seen, |key| {
                key.signature.map_or(Cell::Empty, |n| Cell::Whole(n.into()))
            })
        },
    },
    Column {
        name: "lowest_written",
        kind: Text,
        unit: "written pitch, C4 = middle C",
        says: "the lowest note",
        value: |seen| range(seen, |range| end(range.lowest.as_ref(), |end| &end.written)),
    },
    Column {
        name: "highest_written",
        kind: Text,
        unit: "written pitch, C4 = middle C",
        says: "the highest note",
        value: |seen| range(seen, |range| end(range.highest.as_ref(), |end| &end.written)),
    },
    Column {
        name: "lowest_sounding",
        kind: Text,
        unit: "sounding pitch, C4 = middle C",
        says: "the lowest note as it sounds",
        value: |seen| {
            range(seen, |range| {
                end(range.lowest_sounding.as_ref().or(range.lowest.as_ref()), |end| {
                    &end.sounding
                })
            })
        },
    },
    Column {
        name: "highest_sounding",
        kind: Text,
        unit: "sounding pitch, C4 = middle C",
        says: "the highest note as it sounds",
        value: |seen| {
            range(seen, |range| {
                end(
                    range.highest_sounding.as_ref().or(range.highest.as_ref()),
                    |end| &end.sounding,
                )
            })
        },
    },
    Column {
        name: "metre",
        kind: Text,
        unit: "",
        says: "the first metre, in numbers",
        value: |seen| {
            metre(seen, |metres| {
                metres.first().map_or(Cell::Empty, |first| text(&first.fraction))
            })
        },
    },
    Column {
        name: "metre_changes",
        kind: Whole,
        unit: "",
        says: "time signatures after the first that ask for another metre",
        value: |seen| {
            metre(seen, |metres| {
                whole(
                    metres
                        .windows(2)
                        .filter(|pair| pair[0].fraction != pair[1].fraction)
                        .count(),
                )
            })
        },
    },
    Column {
        name: "pickup",
        kind: Real,
        unit: "quarter notes",
        says: "length of the pickup; empty if there is none",
        value: |seen| {
            survey(seen, |s| {
                s.metre_more
                    .as_ref()
                    .and_then(|more| more.anacrusis.as_ref())
                    .map_or(Cell::Empty, |a| Cell::Real(a.quarters))
            })
        },
    },
    Column {
        name: "bars",
        kind: Whole,
        unit: "",
        says: "bars as written",
        value: |seen| piece(seen, |piece| whole(piece.bars)),
    },
    Column {
        name: "notes",
        kind: Whole,
        unit: "",
        says: "notes to play as written: chords once, ties joined, grace notes and cues left out",
        value: |seen| piece(seen, |piece| whole(piece.notes)),
    },
    Column {
        name: "tempo_marking",
        kind: Text,
        unit: "",
        says: "the first tempo words as printed",
        value: |seen| tempo(seen, |tempo| maybe(tempo.marking.as_deref())),
    },
    Column {
        name: "marked_tempo",
        kind: Real,
        unit: "printed notes a minute",
        says: "the first metronome mark (the middle of a printed range)",
        value: |seen| tempo(seen, |tempo| tempo.marked_bpm.map_or(Cell::Empty, Cell::Real)),
    },
    Column {
        name: "first_reading_beat",
        kind: Text,
        unit: "",
        says: "the note that the first-reading tempo counts",
        value: |seen| first_reading(seen, |first| text(&first.beat)),
    },
    Column {
        name: "first_reading_low",
        kind: Whole,
        unit: "such notes a minute",
        says: "slow end of the first-reading tempo",
        value: |seen| first_reading(seen, |first| Cell::Whole(first.low.into())),
    },
    Column {
        name: "first_reading_high",
        kind: Whole,
        unit: "such notes a minute",
        says: "fast end of the first-reading tempo",
        value: |seen| first_reading(seen, |first| Cell::Whole(first.high.into())),
    },
    Column {
        name: "bars_played",
        kind: Whole,
        unit: "",
        says: "bars as played, repeats and jumps taken",
        value: |seen| road(seen, |road| whole(road.bars_played)),
    },
    Column {
        name: "quarters_played",
        kind: Real,
        unit: "quarter notes",
        says: "how long that is",
        value: |seen| road(seen, |road| Cell::Real(road.quarters_played)),
    },
    Column {
        name: "shortest_value",
        kind: Text,
        unit: "",
        says: "the shortest printed value in use",
        value: |seen| rhythm(seen, |rhythm| maybe(rhythm.shortest.as_deref())),
    },
    Column {
        name: "shortest_quarters",
        kind: Real,
        unit: "quarter notes",
        says: "its length",
        value: |seen| {
            rhythm(seen, |rhythm| {
                rhythm.shortest_quarters.map_or(Cell::Empty, Cell::Real)
            })
        },
    },
    Column {
        name: "altered_notes",
        kind: Whole,
        unit: "",
        says: "notes altered from the signature",
        value: |seen| {
            survey(seen, |s| {
                s.accidentals
                    .as_ref()
                    .map_or(Cell::Empty, |a| whole(a.altered_notes))
            })
        },
    },
    Column {
        name: "syncopation_mean",
        kind: Real,
        unit: "Longuet-Higgins & Lee score a bar",
        says: "mean over the bars with notes, bars without syncopation counted as 0",
        value: |seen| rhythm(seen, syncopation),
    },
    Column {
        name: "ornaments",
        kind: Whole,
        unit: "",
        says: "ornament signs and groups of grace notes",
        value: |seen| {
            survey(seen, |s| {
                s.ornaments.as_ref().map_or(Cell::Empty, |o| whole(o.len()))
            })
        },
    },
    Column {
        name: "clefs",
        kind: Text,
        unit: "",
        says: "clefs in order of first use, with commas",
        value: |seen| {
            survey(seen, |s| {
                s.clefs
                    .as_ref()
                    .map_or(Cell::Empty, |c| listed(c.iter().map(|clef| clef.name.as_str())))
            })
        },
    },
    Column {
        name: "dynamics",
        kind: Text,
        unit: "",
        says: "levels used from the softest, with commas",
        value: |seen| {
            survey(seen, |s| {
                s.dynamics_more.as_ref().map_or(Cell::Empty, |d| {
                    listed(d.levels.iter().map(|level| level.mark.as_str()))
                })
            })
        },
    },
    Column {
        name: "findings",
        kind: Whole,
        unit: "",
        says: "things found wrong, guessed or odd",
        value: |seen| survey(seen, |s| whole(s.reader_findings.len())),
    },
    Column {
        name: "problems",
        kind: Whole,
        unit: "",
        says: "those among them that lost something or contradict themselves",
        value: |seen| {
            survey(seen, |s| {
                whole(
                    s.reader_findings
                        .iter()
                        .filter(|f| f.severity == "problem")
                        .count(),
                )
            })
        },
    },
    Column {
        name: "player_instrument",
        kind: Text,
        unit: "",
        says: "the player's instrument, by its fixed name; this and the next four are empty without a player",
        value: |seen| study(seen, |study| maybe(study.player.instrument.as_deref())),
    },
    Column {
        name: "player_level",
        kind: Text,
        unit: "",
        says: "the player's level",
        value: |seen| study(seen, |study| text(&study.player.level)),
    },
    Column {
        name: "slowly_first",
        kind: Text,
        unit: "",
        says: "the brackets of bars to read slowly before anything else, the worst first",
        value: |seen| study(seen, |study| text(&slowly_first(study))),
    },
    Column {
        name: "new_bars",
        kind: Whole,
        unit: "",
        says: "bars that are no earlier bar over again, the same or shifted",
        value: |seen| study(seen, |study| whole(study.look_alikes_more.new_bars)),
    },
    Column {
        name: "levels",
        kind: Text,
        unit: "",
        says: "the level tables that the part fits in all that they name, and at which level",
        value: |seen| study(seen, |study| text(&levels(study))),
    },
    Column {
        name: "error",
        kind: Text,
        unit: "",
        says: "why there is no survey; empty otherwise",
        value: |seen| maybe(seen.error),
    },
];

fn text(text: &str) -> Cell {
    if text.is_empty() {
        Cell::Empty
    } else {
        Cell::Text(text.to_owned())
    }
}

fn maybe(words: Option<&str>) -> Cell {
    words.map_or(Cell::Empty, text)
}

fn whole(count: usize) -> Cell {
    Cell::Whole(i64::try_from(count).unwrap_or(i64::MAX))
}

/// Each once, in order, with commas.
fn listed<'a>(words: impl Iterator<Item = &'a str>) -> Cell {
    let mut each: Vec<&str> = Vec::new();
    for word in words {
        if !each.contains(&word) {
            each.push(word);
        }
    }
    text(&each.join(", "))
}

fn end(end: Option<&range::End>, pitch: fn(&range::End) -> &String) -> Cell {
    end.map_or(Cell::Empty, |end| text(pitch(end)))
}

fn syncopation(rhythm: &rhythm::Rhythm) -> Cell {
    let bars = &rhythm.syncopation;
    if bars.is_empty() {
        return Cell::Empty;
    }
    let sum: u32 = bars
        .iter()
        .filter_map(|bar| bar.score)
        .fold(0, u32::saturating_add);
    let bars = u32::try_from(bars.len()).unwrap_or(u32::MAX);
    Cell::Real(f64::from(sum) / f64::from(bars))
}

fn survey(seen: &Seen, value: impl Fn(&SurveyJson) -> Cell) -> Cell {
    seen.survey.map_or(Cell::Empty, value)
}

fn piece(seen: &Seen, value: impl Fn(&survey::PieceSaid) -> Cell) -> Cell {
    survey(seen, |s| value(&s.piece))
}

fn key(seen: &Seen, value: impl Fn(&key::Key) -> Cell) -> Cell {
    survey(seen, |s| s.key.as_ref().map_or(Cell::Empty, &value))
}

fn range(seen: &Seen, value: impl Fn(&range::Range) -> Cell) -> Cell {
    survey(seen, |s| s.range.as_ref().map_or(Cell::Empty, &value))
}

fn metre(seen: &Seen, value: impl Fn(&[metre::Metre]) -> Cell) -> Cell {
    survey(seen, |s| s.metre.as_deref().map_or(Cell::Empty, &value))
}

fn tempo(seen: &Seen, value: impl Fn(&tempo::Tempo) -> Cell) -> Cell {
    survey(seen, |s| s.tempo.as_ref().map_or(Cell::Empty, &value))
}

fn study(seen: &Seen, value: impl Fn(&StudySaid) -> Cell) -> Cell {
    survey(seen, |s| s.study.as_ref().map_or(Cell::Empty, &value))
}

/// `35; 26–27; 18`.
fn slowly_first(study: &StudySaid) -> String {
    let spots = study.trouble_spots.iter().filter(|spot| spot.slowly_first);
    let bars = spots.map(|spot| {
        if spot.from_bar_index == spot.to_bar_index {
            spot.from_bar.clone()
        } else {
            format!("{}–{}", spot.from_bar, spot.to_bar)
        }
    });
    bars.collect::<Vec<_>>().join("; ")
}

fn levels(study: &StudySaid) -> String {
    let fitting = study.levels.iter().filter(|level| level.fits);
    let said = fitting.map(|level| format!("{}: {}", level.table, level.level));
    said.collect::<Vec<_>>().join("; ")
}

fn first_reading(seen: &Seen, value: impl Fn(&tempo::FirstReading) -> Cell) -> Cell {
    tempo(seen, |tempo| {
        tempo.first_reading.as_ref().map_or(Cell::Empty, &value)
    })
}

fn road(seen: &Seen, value: impl Fn(&road_map::RoadMap) -> Cell) -> Cell {
    survey(seen, |s| s.road_map.as_ref().map_or(Cell::Empty, &value))
}

fn rhythm(seen: &Seen, value: impl Fn(&rhythm::Rhythm) -> Cell) -> Cell {
    survey(seen, |s| s.rhythm.as_ref().map_or(Cell::Empty, &value))
}
