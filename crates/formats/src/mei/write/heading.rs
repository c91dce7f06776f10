//! What stands before the music? Titles, people, rights, and that we wrote the file; nothing about the machine or the hour.

use super::xml::{Node, is_token};
use notation::Piece;

/// The `meiHead`.
pub(super) fn heading(piece: &Piece) -> Node {
    let credits = &piece.credits;
    let mut titles = Node::new("titleStmt");
    for (kind, text) in [("main", &credits.title), ("movement", &credits.movement)] {
        if let Some(text) = text {
            titles.push(Node::new("title").attr("type", kind).lines(text));
        }
    }
    if titles.is_empty() {
        titles.push(Node::new("title"));
    }
    if !credits.people.is_empty() {
        let mut people = Node::new("respStmt");
        for (role, name) in &credits.people {
            let mut person = Node::new("persName");
            if is_token(role) {
                person.set("role", role);
            } else if !role.is_empty() {
                person.set("label", role);
            }
            people.push(person.lines(name));
        }
        titles.push(people);
    }
    let mut published = Node::new("pubStmt");
    if credits.rights.is_empty() {
        published.push(Node::new("unpub"));
    } else {
        let mut rights = Node::new("availability");
        for text in &credits.rights {
            rights.push(Node::new("useRestrict").lines(text));
        }
        published.push(rights);
    }
    let mut file = Node::new("fileDesc").child(titles).child(published);
    if !credits.page_words.is_empty() {
        let mut notes = Node::new("notesStmt");
        for text in &credits.page_words {
            notes.push(Node::new("annot").attr("type", "page-words").lines(text));
        }
        file.push(notes);
    }
    let name = Node::new("name").lines("Foreread");
    let application = Node::new("application")
        .attr("version", env!("CARGO_PKG_VERSION"))
        .child(name);
    let encoding = Node::new("encodingDesc").child(Node::new("appInfo").child(application));
    let mut head = Node::new("meiHead").child(file).child(encoding);
    if !credits.numbers.is_empty() {
        let mut work = Node::new("work");
        for number in &credits.numbers {
            work.push(Node::new("identifier").lines(number));
        }
        let title = credits.title.as_deref().unwrap_or_default();
        work.push(Node::new("title").lines(title));
        head.push(Node::new("workList").child(work));
    }
    head
}
