//! Phrases on lines short enough to sing.
use super::*;

fn begins(text: &str) -> Vec<usize> {
    let piece = notation::sketch(text).expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let key = crate::key::answer(&ctx, None);
    answer(&ctx, Some(&key))
        .boundaries
        .iter()
        .map(|b| b.note)
        .collect()
}

#[test]
fn an_empty_line_has_no_phrase() {
    assert!(begins("metre:4/4 R | R").is_empty());
    assert_eq!(begins("metre:4/4 C5/w"), [0]);
}
