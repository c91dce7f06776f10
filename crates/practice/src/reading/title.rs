//! What is the piece called? A plain invented title, nothing that promises a style.

use super::chance::Chance;

const FIRST: [&str; 24] = [
    "Quiet", "Early", "Open", "Plain", "Stone", "Garden", "Winter", "Summer", "Evening", "Morning",
    "Harbour", "Paper", "Copper", "Willow", "River", "Little", "Long", "Far", "Clear", "Chalk", "Barn",
    "Orchard", "Lantern", "Meadow",
];

const SECOND: [&str; 24] = [
    "Bridge", "Gate", "Steps", "Window", "Lane", "Song", "Walk", "Hill", "Yard", "Road", "Field", "Stair",
    "Market", "Letter", "Round", "Corner", "Path", "Air", "Shore", "Bench", "Tower", "Well", "Tune", "Hour",
];

pub(super) fn title(chance: &mut Chance) -> String {
    let first = chance.pick(&FIRST).unwrap_or("Plain");
    let second = chance.pick(&SECOND).unwrap_or("Tune");
    format!("{first} {second}")
}
