//! How does a page lie on the screen? The engraved page as it would be printed, with a place to touch on every bar.

use crate::drawing;
use crate::part::notes::Line;
use crate::part::point::Labels;
use crate::prepared::Prepared;
use crate::screen::capital;
use engrave::{Page, Spot};
use maud::{Markup, PreEscaped, html};
use notation::{BarIndex, IdKind};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// One page, with its places; `None` if there is no such page.
pub(crate) fn page(part: &Prepared, lines: &[Line], number: usize) -> Option<Markup> {
    let page = part.copy.laid.pages.get(number)?;
    let touch = touch_layer(part, lines, page, number);
    let drawn = drawing::for_page(&page.svg, &format!("p{number}-"), &touch)?;
    Some(html! {
        div class="sheet-of-paper" data-page=(number) data-width=(page.width_mm) data-height=(page.height_mm) {
            (PreEscaped(drawn))
        }
    })
}

/// All pages of a part: the first at once, the others when they are looked for at their addresses.
pub(crate) fn music(
    part: &Prepared,
    lines: &[Line],
    called: &str,
    how: &str,
    further: impl Fn(usize) -> String,
) -> Markup {
    let pages = part.copy.laid.pages.len();
    let word = if pages == 1 { "page" } else { "pages" };
    html! {
        div class="music" tabindex="-1" role="group" aria-label={ (part.copy.title) ", " (called) ": " (pages) " " (word) } {
            p class="unseen" id="how" { (how) }
            @for number in 0..pages {
                @if number == 0 {
                    @if let Some(first) = page(part, lines, 0) { (first) }
                } @else {
                    (page_to_come(part, number, &further(number)))
                }
            }
        }
    }
}

/// A page that is fetched when it is looked for, as large as it will be.
fn page_to_come(part: &Prepared, number: usize, address: &str) -> Markup {
    let (width, height) = part
        .copy
        .laid
        .pages
        .get(number)
        .map_or((210.0, 297.0), |page| (page.width_mm, page.height_mm));
    html! {
        div class="sheet-of-paper to-come" data-page=(number) data-width=(width) data-height=(height) data-from=(address) {
            svg viewBox={ "0 0 " (width) " " (height) } aria-hidden="true" {}
        }
    }
}

/// A bar where it stands on a page.
struct Touch {
    bars: Vec<BarIndex>,
    x: f64,
    w: f64,
    system: usize,
}

/// A rectangle for each bar, as high as its line, that can be touched and reached by keys.
fn touch_layer(part: &Prepared, lines: &[Line], page: &Page, number: usize) -> String {
    let labels = Labels::of(&part.copy.piece);
    let touches = touches(part, number);
    let heights = heights(part, page, number);
    let mut out = format!("<g class=\"places\" transform=\"scale({:.5})\">", scale(page));
    for (at, touch) in touches.iter().enumerate() {
        let (Some(first), Some(last)) = (touch.bars.first(), touch.bars.last()) else {
            continue;
        };
        let Some((y, h)) = heights.get(&touch.system) else {
            continue;
        };
        let said = words(part, lines, &labels, *first, *last);
        let reached = if number == 0 && at == 0 { 0 } else { -1 };
        let words = html! { (said) }.into_string();
        // Writing to a string can't fail.
        let _ = write!(
            out,
            "<rect class=\"place\" data-bar=\"{}\" data-last=\"{}\" data-system=\"{}\" x=\"{:.2}\" y=\"{y:.2}\" width=\"{:.2}\" height=\"{h:.2}\" \
             role=\"button\" tabindex=\"{reached}\" aria-label=\"{words}\"/>",
            first.0, last.0, touch.system, touch.x, touch.w
        );
    }
    out.push_str("</g>");
    out
}

/// What a screen reader says at a bar: `Bar 7. Much to read, much for the hands. Hard spot; beats.`
fn words(part: &Prepared, lines: &[Line], labels: &Labels, first: BarIndex, last: BarIndex) -> String {
    let mut said = labels.run(first, last);
    said.push('.');
    if let Some(cell) = part.sheet.bars.get(first.get())
        && !cell.asks.is_empty()
    {
        let _ = write!(said, " {}.", capital(&cell.asks));
    }
    let notes = lines.iter().flat_map(|line| &line.notes);
    let mut about: Vec<&str> = notes
        .filter(|note| note.is_drawn() && note.bars.0 <= last && first <= note.bars.1)
        .map(|note| note.about)
        .collect();
    about.dedup();
    if !about.is_empty() {
        let _ = write!(said, " {}.", capital(&about.join("; ")));
    }
    said
}

/// The bars of a page; bars that share a sign (a rest of several bars) share a place.
fn touches(part: &Prepared, page: usize) -> Vec<Touch> {
    let mut touches: Vec<Touch> = Vec::new();
    for (index, bar) in part.copy.piece.bars.iter().enumerate() {
        let spots = part
            .copy
            .laid
            .places
            .of
            .get(&bar.id)
            .map_or(&[][..], Vec::as_slice);
        for spot in spots
            .iter()
            .filter(|spot| spot.page == page && spot.rect_mm.w > 0.0)
        {
            let bar = BarIndex::from_usize(index);
            let shared = touches.last_mut().filter(|last| {
                last.system == spot.system
                    && (last.x - spot.rect_mm.x).abs() < 0.01
                    && (last.w - spot.rect_mm.w).abs() < 0.01
            });
            match shared {
                Some(touch) => touch.bars.push(bar),
                None => touches.push(Touch {
                    bars: vec![bar],
                    x: spot.rect_mm.x,
                    w: spot.rect_mm.w,
                    system: spot.system,
                }),
            }
        }
    }
    touches
}

/// Top and height of each line on a page, from all that stands in it; lines meet half way where they would overlap.
fn heights(part: &Prepared, page: &Page, number: usize) -> BTreeMap<usize, (f64, f64)> {
    let mut extents: BTreeMap<usize, (f64, f64)> = BTreeMap::new();
    for spot in spots(part).filter(|spot| spot.page == number) {
        let (top, bottom) = (spot.rect_mm.y, spot.rect_mm.bottom());
        extents
            .entry(spot.system)
            .and_modify(|(highest, lowest)| {
                *highest = highest.min(top);
                *lowest = lowest.max(bottom);
            })
            .or_insert((top, bottom));
    }
    let mut done: BTreeMap<usize, (f64, f64)> = BTreeMap::new();
    let all: Vec<(usize, (f64, f64))> = extents.into_iter().collect();
    for (at, (system, (top, bottom))) in all.iter().enumerate() {
        let above = at
            .checked_sub(1)
            .and_then(|before| all.get(before))
            .map_or(0.0, |(_, (_, low))| *low);
        let below = all.get(at + 1).map_or(page.height_mm, |(_, (high, _))| *high);
        let top = (top - AIR_MM).max((above + top) / 2.0).min(*top);
        let bottom = (bottom + AIR_MM).min((below + bottom) / 2.0).max(*bottom);
        done.insert(*system, (top, bottom - top));
    }
    done
}

/// White around a line that belongs to it, in millimetres.
const AIR_MM: f64 = 1.5;

/// Where bars, notes and rests stand: what hangs farther out (words, hairpins) makes no line higher.
fn spots(part: &Prepared) -> impl Iterator<Item = &Spot> {
    let places = part.copy.laid.places.of.iter();
    let of_music = places.filter(|(id, _)| matches!(id.kind(), IdKind::Bar | IdKind::Event));
    of_music.flat_map(|(_, spots)| spots)
}

/// Units of the drawing in a millimetre.
fn scale(page: &Page) -> f64 {
    let view = page
        .svg
        .split("viewBox=\"")
        .nth(1)
        .and_then(|rest| rest.split('"').next());
    let width = view
        .and_then(|view| view.split(' ').nth(2))
        .and_then(|width| width.parse::<f64>().ok());
    width.map_or(1.0, |width| width / page.width_mm)
}
