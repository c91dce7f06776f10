//! The local web app: a folder of pieces and the part, in the browser, on this machine alone.
//!
//! Thin routes: what is found, engraved or heard comes from the desk; here it is put on a screen. What it does *not* do: any
//! music of its own, any request to another machine.
//!
//! [`bind`] takes hold of an address, [`Bound::serve`] answers until it is told to stop.

mod assets;
mod coming;
mod days;
mod drawing;
mod errata;
mod error;
mod folder;
mod guard;
mod hers;
mod lan;
mod look;
mod mending;
mod part;
mod pieces;
mod prepared;
mod recent;
mod routes;
mod screen;
mod serve;
mod state;
mod studio;
mod takes;
mod today;
mod workshop;

pub use error::AppError;
pub use serve::{AppAsked, Bound, bind};
