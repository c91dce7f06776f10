//! Where does the time go? Each step of a survey, warm, on the files named: best of many runs, in microseconds.
//!
//! `timing --json FILES` prints for each file, as `benches/speed` reads it, the seconds of what the peer does (read, key,
//! range, counts) and of everything (read, twelve questions, JSON), in a warmed-up process: the median of seven runs.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "an example for the developer's terminal"
)]

use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

fn best(runs: u32, mut step: impl FnMut()) -> f64 {
    (0..runs)
        .map(|_| {
            let start = Instant::now();
            step();
            start.elapsed().as_secs_f64() * 1e6
        })
        .fold(f64::INFINITY, f64::min)
}

fn median(mut step: impl FnMut()) -> f64 {
    let mut runs: Vec<f64> = (0..7)
        .map(|_| {
            let start = Instant::now();
            step();
            start.elapsed().as_secs_f64()
        })
        .collect();
    runs.sort_by(f64::total_cmp);
    runs[runs.len() / 2]
}

fn beside_the_peer(name: &str) {
    let path = Path::new(name);
    let part = Some("1".to_owned());
    let same = desk::Asked {
        part: part.clone(),
        questions: vec!["key".into(), "range".into()],
        ..Default::default()
    };
    let whole = desk::Asked {
        part,
        ..Default::default()
    };
    let same = median(|| {
        let opened = desk::open(path).unwrap();
        drop(black_box(desk::survey_piece(&opened, &same)));
    });
    let whole = median(|| {
        let opened = desk::open(path).unwrap();
        let shown = desk::survey_piece(&opened, &whole).unwrap();
        drop(black_box(desk::survey_json(&opened, &shown)));
    });
    println!("{{\"path\": {name:?}, \"same_work\": {same}, \"everything\": {whole}}}");
}

fn main() {
    if std::env::args().nth(1).as_deref() == Some("--json") {
        std::env::args().skip(2).for_each(|name| beside_the_peer(&name));
        return;
    }
    for name in std::env::args().skip(1) {
        let path = Path::new(&name);
        let bytes = std::fs::read(path).unwrap();
        let first = Instant::now();
        let opened = desk::open_bytes(path, &bytes).unwrap();
        let shown = desk::survey_piece(&opened, &desk::Asked::default()).unwrap();
        black_box(desk::survey_json(&opened, &shown));
        let first = first.elapsed().as_secs_f64() * 1e6;
        let read = best(20, || drop(black_box(desk::open_bytes(path, &bytes))));
        let survey = best(20, || {
            drop(black_box(desk::survey_piece(&opened, &desk::Asked::default())))
        });
        let json = best(20, || drop(black_box(desk::survey_json(&opened, &shown))));
        println!("{name}: first {first:.0}; then read {read:.0}, survey {survey:.0}, json {json:.0}");
        let piece = &opened.piece;
        let ctx = survey::Context::new(piece, shown.part).unwrap();
        let s = &shown.survey;
        let (Some(metre), Some(rhythm), Some(key)) = (&s.metre, &s.rhythm, &s.key) else {
            continue;
        };
        let played = s.road_map.unfolding.order();
        let instrument = s.instrument.as_ref();
        let marked = survey::tempo::marked(&ctx);
        let steps: Vec<(&str, f64)> = vec![
            (
                "context",
                best(20, || drop(black_box(survey::Context::new(piece, shown.part)))),
            ),
            (
                "road map",
                best(20, || {
                    drop(black_box(survey::road_map::answer(&ctx, &Default::default())))
                }),
            ),
            (
                "key",
                best(20, || drop(black_box(survey::key::answer(&ctx, Some(&played))))),
            ),
            (
                "marked",
                best(20, || drop(black_box(survey::tempo::marked(&ctx)))),
            ),
            (
                "metre",
                best(20, || drop(black_box(survey::metre::answer(&ctx, &marked)))),
            ),
            (
                "rhythm",
                best(20, || {
                    drop(black_box(survey::rhythm::answer(&ctx, metre, Default::default())))
                }),
            ),
            (
                "tempo",
                best(20, || {
                    let options = Default::default();
                    drop(black_box(survey::tempo::answer_marked(
                        &ctx, metre, rhythm, &played, &options, &marked,
                    )));
                }),
            ),
            (
                "range",
                best(20, || drop(black_box(survey::range::answer(&ctx, instrument)))),
            ),
            ("terms", best(20, || drop(black_box(survey::terms::answer(&ctx))))),
            (
                "dynamics",
                best(20, || drop(black_box(survey::dynamics::answer(&ctx)))),
            ),
            (
                "accidentals",
                best(20, || {
                    drop(black_box(survey::accidentals::answer(
                        &ctx,
                        instrument,
                        &Default::default(),
                    )))
                }),
            ),
            (
                "clefs",
                best(20, || drop(black_box(survey::clefs::answer(&ctx, instrument)))),
            ),
            (
                "articulation",
                best(20, || {
                    drop(black_box(survey::articulation::answer(&ctx, instrument)))
                }),
            ),
            (
                "ornaments",
                best(20, || {
                    drop(black_box(survey::ornaments::answer(&ctx, &key.regions)))
                }),
            ),
            (
                "counts",
                best(20, || drop(black_box(survey::counts::count(&ctx)))),
            ),
        ];
        let said: Vec<String> = steps
            .iter()
            .map(|(step, micros)| format!("{step} {micros:.0}"))
            .collect();
        println!("   {}", said.join(", "));
    }
}
