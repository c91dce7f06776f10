use super::complete;
use job::{Boxed, Engraved, Ink, Rect, System};

fn rect(x: f64, y: f64, w: f64, h: f64) -> Rect {
    Rect { x, y, w, h }
}

fn boxed(id: &str, class: &str, rect: Rect) -> Boxed {
    Boxed {
        id: id.to_owned(),
        class: class.to_owned(),
        measure: "b1".to_owned(),
        rect,
    }
}

fn system(top: f64, boxes: Vec<Boxed>) -> System {
    System {
        bounds: rect(0.0, top, 18_000.0, 720.0),
        staff: rect(0.0, top, 18_000.0, 720.0),
        boxes,
        ink: None,
    }
}

/// `svgs` without definitions; what comes out of the first system.
fn check(systems: Vec<System>, svgs: &[&str]) -> (Vec<System>, Vec<String>) {
    let engraved = Engraved {
        systems,
        complaints: Vec::new(),
    };
    let blobs: Vec<String> = std::iter::once("")
        .chain(svgs.iter().copied())
        .map(str::to_owned)
        .collect();
    let done = complete(&engraved, &blobs, 18_000.0);
    let svgs = done.svgs.iter().map(|svg| svg.to_string()).collect();
    (done.engraved.systems, svgs)
}

fn words(id: &str, class: &str, x: f64, y: f64, anchor: &str, said: &str) -> String {
    format!(
        "<g id=\"b1\" class=\"measure\"><g id=\"{id}\" class=\"{class}\"><text x=\"{x}\" y=\"{y}\" text-anchor=\"{anchor}\" font-size=\"0px\">\
         <tspan class=\"text\"><tspan font-size=\"400px\">{said}</tspan></tspan></text></g></g>"
    )
}

fn find<'a>(system: &'a System, id: &str) -> &'a Rect {
    &system.boxes.iter().find(|boxed| boxed.id == id).unwrap().rect
}

#[test]
fn words_get_a_box_where_they_stand() {
    let svg = words("d1", "dir", 1000.0, -300.0, "start", "dolce");
    let (systems, _) = check(vec![system(0.0, Vec::new())], &[&svg]);
    let rect = find(&systems[0], "d1");
    assert!((rect.x - 1000.0).abs() < 1e-9);
    // Five letters of about half their size.
    assert!((600.0..1200.0).contains(&rect.w), "{rect:?}");
    assert!(rect.y < -300.0 && rect.bottom() > -300.0);
    assert!(
        systems[0].bounds.y < -300.0,
        "room for the words: {:?}",
        systems[0].bounds
    );
}

#[test]
fn words_beyond_the_right_edge_move_left() {
    let svg = words("d1", "dir", 17_500.0, -300.0, "start", "poco ritardando");
    let (systems, svgs) = check(vec![system(0.0, Vec::new())], &[&svg]);
    assert!(find(&systems[0], "d1").right() <= 18_000.0 + 1e-6);
    assert!(svgs[0].contains("<g transform=\"translate(-"), "{}", svgs[0]);
    assert!(svgs[0].contains(" 0)\" id=\"d1\""), "{}", svgs[0]);
}

#[test]
fn words_that_meet_words_move_away_from_the_staff() {
    let near = words("d1", "dir", 1000.0, -300.0, "start", "allmählich langsamer");
    let far = words("d2", "reh", 2000.0, -350.0, "middle", "B");
    let (systems, svgs) = check(vec![system(0.0, Vec::new())], &[&(near + &far)]);
    let (near, far) = (find(&systems[0], "d1"), find(&systems[0], "d2"));
    assert!(!near.meets(far), "{near:?} {far:?}");
    assert!(far.bottom() <= near.y, "the rehearsal mark is the outer one");
    assert!(svgs[0].contains("id=\"d2\""));
}

#[test]
fn moved_words_leave_ink_where_they_come_to_stand() {
    let svg = words("d1", "dir", 17_500.0, -300.0, "start", "poco ritardando");
    let mut one = system(0.0, Vec::new());
    one.ink = Some(Ink::from_cells((0.0, 0.0), 22.5, 4, 4, [true; 16]));
    let (systems, _) = check(vec![one], &[&svg]);
    let (rect, ink) = (*find(&systems[0], "d1"), systems[0].ink.clone().unwrap());
    let at = |x: f64, y: f64| {
        let inside = |edge: f64, length: f64, count: u32| {
            (0..count)
                .position(|n| (0.0..ink.cell).contains(&(length - edge - f64::from(n) * ink.cell)))
                .unwrap()
        };
        let (column, row) = (inside(ink.x, x, ink.columns), inside(ink.y, y, ink.rows));
        ink.cells()[row * usize::try_from(ink.columns).unwrap() + column]
    };
    assert!(at(rect.x + 1.0, rect.y + 1.0) && at(rect.right() - 1.0, rect.bottom() - 1.0));
    assert!(at(10.0, 10.0), "and what was there stays");
    assert!(!at(rect.x - 100.0, rect.y + 1.0));
}

#[test]
fn what_reaches_over_two_systems_is_told_once_in_each() {
    let own = boxed("s1", "hairpin", rect(15_000.0, 900.0, 2_000.0, 200.0));
    let next = boxed("s1", "hairpin", rect(1_000.0, 5_900.0, 2_000.0, 200.0));
    // The engraver tells the second box in both.
    let systems = vec![
        system(
            0.0,
            vec![
                next.clone(),
                boxed("e1", "note", rect(500.0, 100.0, 200.0, 180.0)),
            ],
        ),
        system(5_000.0, vec![next.clone(), own]),
    ];
    let (systems, _) = check(systems, &["", ""]);
    assert!(
        systems[0].boxes.iter().all(|boxed| boxed.id != "s1"),
        "not its own"
    );
    assert!(systems[0].bounds.bottom() < 1_500.0, "{:?}", systems[0].bounds);
    assert_eq!(*find(&systems[1], "s1"), next.rect);
}

#[test]
fn a_drawing_that_is_none_does_no_harm() {
    for svg in [
        "<",
        "<text",
        "<g id=\"a",
        "<text>no end",
        "</g></g>",
        "<g><text x=\"1\"><tspan>",
    ] {
        let (systems, svgs) = check(vec![system(0.0, Vec::new())], &[svg]);
        assert_eq!(systems[0].boxes.len(), 0, "{svg}");
        assert_eq!(svgs[0], svg);
    }
}
