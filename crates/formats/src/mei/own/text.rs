//! What do texts of our own files say, every blank kept? Text and line breaks; the title page.

use super::Music;
use crate::xml::El;
use quick_xml::Reader;
use quick_xml::events::Event;

/// Longer than any text on a page, in bytes.
const MOST: usize = 80_000;

/// The text in an element and in all that is in it, `lb` as a line break.
pub(in super::super) fn raw(source: &str, el: El<'_, '_>) -> String {
    let mut text = String::new();
    if el.children().next().is_none() {
        text.push_str(el.raw_text());
        return text;
    }
    let (from, to) = el.range();
    let mut reader = Reader::from_str(source.get(from as usize..to as usize).unwrap_or_default());
    while let Ok(event) = reader.read_event() {
        match event {
            Event::Text(found) => text.push_str(&found.into_inner()),
            Event::CData(found) => text.push_str(&found.into_inner()),
            Event::GeneralRef(name) => text.push_str(&super::super::text::unfolded(&name.into_inner())),
            Event::Empty(tag) if tag.name().as_ref() == "lb" => text.push('\n'),
            Event::Eof => break,
            _ => {}
        }
        if text.len() > MOST {
            break;
        }
    }
    text
}

/// Text in a list: the signs that divide it are written as their numbers.
pub(super) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('%') {
        out.push_str(before);
        let code = after.get(..2).and_then(|hex| u32::from_str_radix(hex, 16).ok());
        match code.and_then(char::from_u32) {
            Some(sign) => {
                out.push(sign);
                rest = after.get(2..).unwrap_or_default();
            }
            None => {
                out.push('%');
                rest = after;
            }
        }
    }
    out.push_str(rest);
    out
}

impl<'a> Music<'a> {
    pub(super) fn own_credits(&mut self, head: El<'_, 'a>) {
        let source = self.text;
        let credits = &mut self.score.piece.credits;
        let file = head.child("fileDesc");
        let titles = file.and_then(|file| file.child("titleStmt"));
        for el in titles.into_iter().flat_map(El::children) {
            match (el.name(), el.attr("type")) {
                ("title", Some("main")) => credits.title = Some(raw(source, el)),
                ("title", Some("movement")) => credits.movement = Some(raw(source, el)),
                ("respStmt", _) => {
                    for person in el.children().take(500) {
                        let role = person.attr("role").or(person.attr("label")).unwrap_or_default();
                        credits.people.push((role.to_owned(), raw(source, person)));
                    }
                }
                _ => {}
            }
        }
        let rights = file
            .and_then(|file| file.child("pubStmt"))
            .and_then(|published| published.child("availability"));
        let rights = rights.into_iter().flat_map(El::children).take(500);
        credits.rights.extend(rights.map(|el| raw(source, el)));
        let notes = file.and_then(|file| file.child("notesStmt"));
        let notes = notes.into_iter().flat_map(El::children).take(1_000);
        credits.page_words.extend(notes.map(|el| raw(source, el)));
        let work = head.child("workList").and_then(|list| list.child("work"));
        let numbers = work
            .into_iter()
            .flat_map(El::children)
            .filter(|el| el.name() == "identifier");
        credits
            .numbers
            .extend(numbers.take(500).map(|el| raw(source, el)));
    }
}
