//! Named sections, the orders in which they are played, and endings.

use crate::{bar_lines, clean, kinds, read};

#[test]
fn an_expansion_list_is_the_order_to_follow() {
    let piece = clean("sections/expansion");
    let orders = &piece.section_orders;
    let said: Vec<(&str, u32, u32)> = orders
        .sections
        .iter()
        .map(|s| (s.name.as_str(), s.start.bar.0, s.end.bar.0))
        .collect();
    assert_eq!(said, [("A", 0, 1), ("B", 1, 2)]);
    let names = |list: &notation::SectionList| -> String {
        orders
            .sections_of(list)
            .map(|section| section.name.as_str())
            .collect()
    };
    let lists: Vec<(String, String)> = orders.lists.iter().map(|l| (l.name.clone(), names(l))).collect();
    assert_eq!(
        lists,
        [
            (String::new(), "AABA".to_owned()),
            ("norep".to_owned(), "AB".to_owned())
        ]
    );
    let followed = orders.followed().expect("the list without a name");
    assert!(followed.name.is_empty() && followed.written_out);
}

#[test]
fn sections_numbered_after_another_are_its_endings() {
    let piece = clean("sections/endings");
    assert_eq!(
        bar_lines(&piece),
        [
            "0 1 Left [1 Start",
            "0 1 Right light-heavy :| [1 Stop",
            "0 2 Left [2 Start",
            "0 3 Right light-heavy [2 Discontinue"
        ]
    );
}

#[test]
fn a_list_that_names_no_section_is_not_followed() {
    let (piece, findings) = read("sections/missing");
    assert_eq!(kinds(&findings), ["section-missing"]);
    assert!(piece.section_orders.followed().is_none());
}
