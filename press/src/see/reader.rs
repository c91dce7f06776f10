//! How does the trained network run? Its bytes through `tract`, one plan for each width of picture.

use super::crop::{Crop, ROWS};
use crate::refusal;
use job::{Refusal, RefusalKind};
use std::sync::Arc;
use tract_onnx::prelude::*;

/// The trained reader: `train/model/reader.onnx`, described in `train/model/reader.json`.
static MODEL: &[u8] = include_bytes!("../../../train/model/reader.onnx");

/// Widths of pictures are brought up to a multiple of this, so that few plans are made.
const WIDTH_STEP: usize = 64;

/// Reads straightened systems of one width.
#[derive(Clone, Debug)]
pub struct Reader {
    plan: Arc<TypedRunnableModel>,
    width: usize,
}

impl Reader {
    /// Prepares the reader for pictures up to a width in pixels. Takes about a second.
    ///
    /// # Errors
    /// If the network does not run on this machine.
    pub fn for_width(width: usize) -> Result<Self, Refusal> {
        let width = prepared(width);
        let plan = tract_onnx::onnx()
            .model_for_read(&mut std::io::Cursor::new(MODEL))
            .and_then(|model| model.with_input_fact(0, f32::fact([1, 1, ROWS, width]).into()))
            .and_then(|model| model.into_optimized())
            .and_then(|model| model.into_runnable())
            .map_err(failed)?;
        Ok(Self { plan, width })
    }

    /// Whether it is the one for pictures up to a width.
    pub fn is_for(&self, width: usize) -> bool {
        self.width == prepared(width)
    }

    /// The scores of one system no wider than was prepared for, frame by frame.
    ///
    /// # Errors
    /// If the network does not run.
    pub fn read(&self, crop: &Crop) -> Result<Vec<f32>, Refusal> {
        let mut ink = vec![0.0_f32; ROWS * self.width];
        let wide = crop.grey.width.min(self.width);
        for row in 0..ROWS.min(crop.grey.height) {
            let from = row * crop.grey.width;
            ink[row * self.width..row * self.width + wide].copy_from_slice(&crop.grey.ink[from..from + wide]);
        }
        let input = Tensor::from_shape(&[1, 1, ROWS, self.width], &ink).map_err(failed)?;
        let output = self.plan.run(tvec!(input.into())).map_err(failed)?;
        let scores = output.first().ok_or_else(|| broken("it gave no answer"))?;
        let view = scores.to_plain_array_view::<f32>().map_err(failed)?;
        Ok(view.iter().copied().collect())
    }
}

/// The width for which a plan is made.
fn prepared(width: usize) -> usize {
    width.div_ceil(WIDTH_STEP).max(6) * WIDTH_STEP
}

fn failed(error: TractError) -> Refusal {
    broken(&error.to_string())
}

fn broken(why: &str) -> Refusal {
    refusal(
        RefusalKind::Machine,
        format!("the page reader does not run: {why}"),
    )
}
