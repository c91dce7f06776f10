//! How does the trained reader of signs run? One plan for each width of picture.

use super::crop::{Crop, ROWS};
use super::net::Net;
use job::Refusal;

/// The trained reader: `train/model/reader.onnx`, described in `train/model/reader.json`.
static MODEL: &[u8] = include_bytes!("../../../train/model/reader.onnx");

/// Widths of pictures are brought up to a multiple of this, so that few plans are made.
const WIDTH_STEP: usize = 64;

/// Reads straightened systems of one width.
#[derive(Clone, Debug)]
pub struct Reader {
    net: Net,
}

impl Reader {
    /// Prepares the reader for pictures up to a width in pixels. Takes about a second.
    ///
    /// # Errors
    /// If the network does not run on this machine.
    pub fn for_width(width: usize) -> Result<Self, Refusal> {
        Net::new(MODEL, ROWS, prepared(width)).map(|net| Self { net })
    }

    /// Whether it is the one for pictures up to a width.
    pub fn is_for(&self, width: usize) -> bool {
        self.net.width == prepared(width)
    }

    /// The scores of one system no wider than was prepared for, frame by frame.
    ///
    /// # Errors
    /// If the network does not run.
    pub fn read(&self, crop: &Crop) -> Result<Vec<f32>, Refusal> {
        self.net.run(&crop.padded(self.net.width))
    }
}

/// The width for which a plan is made.
pub fn prepared(width: usize) -> usize {
    width.div_ceil(WIDTH_STEP).max(6) * WIDTH_STEP
}
