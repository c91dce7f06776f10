//! Takes with their truth: performances with known slips, restarts, timing and tuning, made by chance from a seed.
//!
//!     make_takes FOLDER < LIST
//!
//! A line of the list: `name TAB piece TAB part TAB seed TAB playing TAB cents TAB tone`, where `piece` may name a tune of a book (`book.abc#12`),
//! `playing` is clean, tempo, errors,
//! restarts, middle or all, `cents` the detuning of the whole, and `tone` is own for a WAV by our
//! own tone, FONT.sf2:PROGRAM for one by a SoundFont, none for the truth alone.
//! `FOLDER/name.json` says every note that sounds (so that any other synthesiser can play it) and what it is.
#![allow(
    clippy::print_stdout,
    clippy::panic,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "a tool for the developer's checks"
)]

use desk::{Asked, TakeAsked, ToPlay, open_tune, to_play};
use notation::{Quarters, Rational};
use performance::play::{Attack, Clock, Performance, PlayedNote, Role, Stretch};
use serde_json::{Value, json};
use sound::{Font, Sound, SoundRequest, Sounder, Timbre, write_wav};
use std::collections::BTreeMap;
use std::path::Path;
use take::Expected;

/// Chance from a seed. Source: SplitMix64, Steele, Lea & Flood 2014 (from memory).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// From 0 to 1.
    fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * self.unit()
    }

    fn below(&mut self, count: usize) -> usize {
        (self.unit() * count as f64) as usize % count.max(1)
    }

    /// Normally distributed, with this standard deviation (sum of twelve).
    fn normal(&mut self, deviation: f64) -> f64 {
        ((0..12).map(|_| self.unit()).sum::<f64>() - 6.0) * deviation
    }

    fn chance(&mut self, of: f64) -> bool {
        self.unit() < of
    }
}

/// What a take is to hold.
struct Playing {
    wrong: f64,
    missing: f64,
    extra: f64,
    restarts: usize,
    hesitations: usize,
    middle: bool,
    pace: (f64, f64),
    drift: f64,
    silence: bool,
}

fn playing(name: &str) -> Playing {
    let calm = Playing {
        wrong: 0.0,
        missing: 0.0,
        extra: 0.0,
        restarts: 0,
        hesitations: 0,
        middle: false,
        pace: (0.85, 1.2),
        drift: 0.03,
        silence: false,
    };
    match name {
        "clean" => calm,
        "tempo" => Playing {
            pace: (0.7, 1.8),
            drift: 0.2,
            silence: true,
            ..calm
        },
        "errors" => Playing {
            wrong: 0.035,
            missing: 0.025,
            extra: 0.02,
            pace: (1.0, 1.4),
            ..calm
        },
        "restarts" => Playing {
            restarts: 3,
            hesitations: 2,
            pace: (1.0, 1.4),
            ..calm
        },
        "middle" => Playing {
            middle: true,
            silence: true,
            ..calm
        },
        "all" => Playing {
            wrong: 0.025,
            missing: 0.015,
            extra: 0.015,
            restarts: 2,
            hesitations: 1,
            pace: (0.9, 1.5),
            drift: 0.1,
            ..calm
        },
        other => panic!("no such playing: {other}"),
    }
}

/// One note that sounds.
struct Tone {
    index: Option<usize>,
    after: usize,
    was: &'static str,
    onset: f64,
    end: f64,
    key: f64,
    expected_key: Option<f64>,
    level: f64,
    attack: Attack,
    joined: bool,
}

/// Longest take, in seconds.
const LONGEST: f64 = 45.0;

struct Truth {
    tones: Vec<Tone>,
    missing: Vec<(usize, f64)>,
    jumps: Vec<(f64, usize, usize, &'static str)>,
    waits: Vec<(f64, usize, f64)>,
    pace: f64,
}

/// Of the notes left out so many are left out because the one before is held into their time; judgement.
const HELD_OVER: f64 = 0.3;

fn play(line: &[Expected], chance: &mut Chance, how: &Playing, cents: f64) -> Truth {
    let pace = chance.between(how.pace.0, how.pace.1);
    let drift = if chance.chance(0.5) { how.drift } else { -how.drift };
    let mut truth = Truth {
        tones: Vec::new(),
        missing: Vec::new(),
        jumps: Vec::new(),
        waits: Vec::new(),
        pace,
    };
    let openings: Vec<usize> = (0..line.len())
        .filter(|n| *n == 0 || line[*n].slot != line[*n - 1].slot)
        .collect();
    let mut of_note: BTreeMap<i64, f64> = BTreeMap::new();
    let mut at = 0;
    if how.middle && openings.len() > 4 {
        at = openings[1 + chance.below(openings.len() / 2)];
    }
    let mut now = if how.silence {
        chance.between(3.0, 12.0)
    } else {
        chance.between(0.4, 1.5)
    };
    let begins = now;
    let mut restarts = spread(chance, line.len().min(110), how.restarts);
    let mut waits = spread(chance, line.len().min(110), how.hesitations);
    let mut left_out = how.middle && chance.chance(0.6);
    let mut since = 0;
    // Seconds by which the last note came beside its time.
    while at < line.len() && now - begins < LONGEST {
        let note = &line[at];
        let speed = pace * (1.0 + drift * ((now - begins) / 30.0).min(1.0));
        let next_secs = line
            .get(at + 1)
            .map_or(note.secs + note.length_secs, |next| next.secs);
        let model = (next_secs - note.secs).max(0.02);
        let time = model * speed;
        let jitter = chance.normal(0.010).clamp(-0.025, 0.025);
        let onset = (now + jitter).max(truth.tones.last().map_or(0.05, |before| before.onset + 0.03));
        let own = *of_note
            .entry((note.key * 4.0) as i64)
            .or_insert_with(|| chance.normal(9.0));
        let off = own + chance.normal(5.0) + cents;
        let length = (note.length_secs * speed).min(time).max(0.03);
        let written = note.role == Role::Written;
        let long = time > 0.16;
        let draw = chance.unit();
        let edge = since < 2 || at + 1 >= line.len();
        let mut tone = Tone {
            index: Some(at),
            after: at,
            was: "right",
            onset,
            end: onset + length,
            key: note.key + off / 100.0,
            expected_key: Some(note.key),
            level: note.loudness + chance.normal(1.0),
            attack: note.attack,
            joined: note.joined_on,
        };
        let mut drop = false;
        if written && !edge && draw < how.wrong && time > 0.1 {
            let neighbours = [line[at - 1].key, line[at + 1].key, note.key];
            let steps: Vec<f64> = [1.0, -1.0, 1.0, -1.0, 2.0, -2.0]
                .into_iter()
                .filter(|step| neighbours.iter().all(|key| (note.key + step - key).abs() > 0.4))
                .collect();
            if !steps.is_empty() {
                tone.was = "wrong";
                tone.key += steps[chance.below(steps.len())];
            }
        } else if written && !edge && draw < how.wrong + how.missing {
            drop = true;
        }
        if drop {
            truth.missing.push((at, now));
            // A silence in its place, or the note before is held into it.
            if let Some(before) = truth.tones.last_mut()
                && before.index.is_some_and(|index| index + 1 == at)
                && before.was == "right"
                && (before.key - note.key).abs() > 0.7
                && line
                    .get(at + 1)
                    .is_some_and(|next| (next.key - before.key).abs() > 0.7)
                && chance.chance(HELD_OVER)
            {
                before.end = now + time - 0.01;
                before.joined = false;
            }
        } else {
            let extra = written && !edge && long && chance.chance(how.extra) && time > 0.3;
            let end = tone.end;
            let key = tone.key;
            if extra {
                let neighbours = [line[at + 1].key, note.key];
                let steps: Vec<f64> = [2.0, -2.0, 1.0, -1.0, 3.0]
                    .into_iter()
                    .filter(|step| {
                        neighbours
                            .iter()
                            .all(|other| (key.round() + step - other).abs() > 0.4)
                    })
                    .collect();
                if !steps.is_empty() {
                    let from = onset + time * chance.between(0.45, 0.6);
                    tone.end = from - 0.01;
                    let step = steps[chance.below(steps.len())];
                    let level = tone.level;
                    truth.tones.push(tone);
                    truth.tones.push(Tone {
                        index: None,
                        after: at,
                        was: "extra",
                        onset: from,
                        end: end.max(from + 0.08),
                        key: key + step,
                        expected_key: None,
                        level,
                        attack: Attack::Plain,
                        joined: false,
                    });
                } else {
                    truth.tones.push(tone);
                }
            } else {
                truth.tones.push(tone);
            }
        }
        since += 1;
        now += time;
        if note.free {
            now += chance.between(-0.2, 0.6) * time;
        }
        let played = truth.tones.len();
        if restarts.first().is_some_and(|due| played >= *due) && at > 3 && !drop && openings.len() > 1 {
            restarts.remove(0);
            // Back to the beginning of this bar or of one of the two before.
            let here = openings.partition_point(|opening| *opening <= at);
            let back = 1 + chance.below(3.min(here));
            let to = openings[here - back];
            now += chance.between(0.3, 2.2);
            if to < at {
                if let Some(last) = truth.tones.last_mut() {
                    last.joined = false;
                }
                truth.jumps.push((now, at, to, "back"));
                at = to;
                since = 0;
                continue;
            }
        }
        if waits.first().is_some_and(|due| played >= *due) && since > 2 && at + 3 < line.len() {
            waits.remove(0);
            let wait = chance.between(0.6, 1.4) + 0.4 * time;
            now += wait;
            if let Some(last) = truth.tones.last_mut() {
                last.joined = false;
            }
            truth.waits.push((now, at + 1, wait));
        }
        if left_out && since > 12 {
            let later: Vec<usize> = openings
                .iter()
                .copied()
                .filter(|opening| *opening > at + 6 && *opening < at + 60)
                .collect();
            left_out = false;
            if !later.is_empty() {
                let to = later[chance.below(later.len())];
                truth.jumps.push((now, at, to, "on"));
                at = to;
                since = 0;
                continue;
            }
        }
        at += 1;
    }
    truth
}

/// So many places among the notes, in order.
fn spread(chance: &mut Chance, notes: usize, count: usize) -> Vec<usize> {
    let mut places: Vec<usize> = (0..count)
        .map(|n| {
            let width = (notes as f64 - 8.0).max(4.0) / count as f64;
            6 + (width * n as f64 + width * chance.between(0.1, 0.9)) as usize
        })
        .collect();
    places.sort_unstable();
    places
}

/// Seconds as quarter notes at 60 a minute.
fn quarters(secs: f64) -> Quarters {
    Rational::new((secs * 1000.0).round() as i64, 1000)
}

/// What is said of each tone for others to play.
fn attack(attack: Attack) -> &'static str {
    match attack {
        Attack::Plain => "plain",
        Attack::Soft => "soft",
        Attack::Crisp => "crisp",
        Attack::Strong => "strong",
        Attack::Joined => "joined",
    }
}

fn write_sound(to_play: &ToPlay, truth: &Truth, sounder: &Sounder, path: &Path) {
    let model = &to_play.performance.notes;
    let notes: Vec<PlayedNote> = truth
        .tones
        .iter()
        .map(|tone| PlayedNote {
            onset: quarters(tone.onset),
            length: quarters(tone.end - tone.onset).max(Rational::new(1, 100)),
            held: quarters(tone.end - tone.onset),
            pitch: Some(Rational::new((tone.key * 10_000.0).round() as i64, 10_000)),
            attack: tone.attack,
            joined_on: tone.joined,
            accent: 0.0,
            loudness: vec![(Quarters::ZERO, tone.level)],
            ..model[0].clone()
        })
        .collect();
    let end = quarters(truth.tones.last().map_or(1.0, |tone| tone.end) + 1.0);
    let sixty = Rational::whole(60);
    let clock = Clock::new(vec![Stretch {
        from: Quarters::ZERO,
        to: end,
        start: sixty,
        end: sixty,
        pause: Quarters::ZERO,
    }]);
    let performance = Performance {
        notes,
        clock,
        ..Performance::default()
    };
    let request = SoundRequest::default();
    let sound = Sound::measured(&performance, &request, sounder).unwrap();
    let mut file = std::io::BufWriter::new(std::fs::File::create(path).unwrap());
    write_wav(&sound, request.rate.get(), &mut file).unwrap();
}

fn one(folder: &str, fields: &[&str]) -> Result<(), String> {
    let [name, piece, part, seed, how, cents, tone] = fields else {
        return Err("seven fields are wanted".into());
    };
    let (file, tune) = piece
        .split_once('#')
        .map_or((*piece, None), |(file, tune)| (file, Some(tune)));
    let opened = open_tune(Path::new(file), tune).map_err(|error| error.to_string())?;
    let asked = TakeAsked {
        asked: Asked {
            part: Some((*part).to_owned()),
            ..Asked::default()
        },
        ..TakeAsked::default()
    };
    let to_play = to_play(&opened, &asked).map_err(|error| error.to_string())?;
    if to_play.line.len() < 24 {
        return Err(format!("only {} notes", to_play.line.len()));
    }
    let cents: f64 = cents.parse().map_err(|_| "no cents")?;
    let mut chance = Chance(seed.parse().map_err(|_| "no seed")?);
    let truth = play(&to_play.line, &mut chance, &playing(how), cents);
    let sounder = match tone.rsplit_once(':') {
        Some((font, program)) => {
            let bytes = std::fs::read(font).map_err(|error| error.to_string())?;
            let font = Font::read(&bytes).map_err(|error| error.to_string())?;
            Some(Sounder::Font(font, program.parse().map_err(|_| "no program")?))
        }
        None if *tone == "own" => {
            let part = to_play.opened.piece.parts.first().and_then(instruments::identify);
            Some(Sounder::Own(Timbre::of(part.map(|found| found.instrument))))
        }
        None => None,
    };
    if let Some(sounder) = sounder {
        write_sound(
            &to_play,
            &truth,
            &sounder,
            &Path::new(folder).join(format!("{name}.wav")),
        );
    }
    let tones: Vec<Value> = truth
        .tones
        .iter()
        .map(|tone| {
            json!({"index": tone.index, "after": tone.after, "was": tone.was, "onset": tone.onset, "end": tone.end, "key": tone.key,
                   "expected_key": tone.expected_key, "level": tone.level, "attack": attack(tone.attack), "joined": tone.joined})
        })
        .collect();
    let value = json!({
        "piece": piece, "part": part, "seed": seed, "playing": how, "cents": cents, "pace": truth.pace,
        "notes": to_play.line.len(), "tones": tones,
        "places": to_play.line.iter().map(|note| json!([note.place.bar.0, note.place.offset.to_f64()])).collect::<Vec<_>>(),
        "secs": to_play.line.iter().map(|note| note.secs).collect::<Vec<_>>(),
        "roles": to_play.line.iter().map(|note| format!("{:?}", note.role)).collect::<Vec<_>>(),
        "beats": (0..to_play.line.len()).map(|index| beat_secs(&to_play, index)).collect::<Vec<_>>(),
        "line": to_play.line.iter().map(|note| json!({"length": note.length_secs, "slot": note.slot, "attack": attack(note.attack),
            "joined": note.joined_on, "free": note.free, "opening": format!("{:?}", note.opening), "onset": note.onset.to_f64()})).collect::<Vec<_>>(),
        "keys": to_play.line.iter().map(|note| note.key).collect::<Vec<_>>(),
        "missing": truth.missing.iter().map(|(index, at)| json!({"at": at, "index": index})).collect::<Vec<_>>(),
        "jumps": truth.jumps.iter().map(|(at, from, to, kind)| json!({"at": at, "from": from, "to": to, "kind": kind})).collect::<Vec<_>>(),
        "waits": truth.waits.iter().map(|(at, before, secs)| json!({"at": at, "before": before, "secs": secs})).collect::<Vec<_>>(),
    });
    std::fs::write(Path::new(folder).join(format!("{name}.json")), value.to_string())
        .map_err(|error| error.to_string())
}

/// A felt beat at a note, in the model's seconds.
fn beat_secs(to_play: &ToPlay, index: usize) -> f64 {
    let note = &to_play.line[index];
    let beat = to_play
        .beats
        .iter()
        .find(|beats| beats.bar == note.place.bar)
        .map_or(1.0, |beats| beats.unit().to_f64());
    beat * 60.0 / to_play.performance.clock.speed(note.onset).to_f64().max(1.0)
}

fn main() {
    let folder = std::env::args().nth(1).expect("a folder");
    for line in std::io::stdin().lines() {
        let line = line.unwrap();
        let fields: Vec<&str> = line.split('\t').collect();
        match one(&folder, &fields) {
            Ok(()) => println!("{}\tok", fields[0]),
            Err(why) => println!("{}\t{why}", fields.first().unwrap_or(&"")),
        }
    }
}
