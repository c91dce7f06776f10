//! How does a trained network run? Its bytes through `tract`, one plan for each width of picture.

use crate::refusal;
use job::{Refusal, RefusalKind};
use std::sync::Arc;
use tract_onnx::prelude::*;

/// A network made ready for pictures of one size.
#[derive(Clone, Debug)]
pub struct Net {
    plan: Arc<TypedRunnableModel>,
    rows: usize,
    /// Pixels across of what it reads.
    pub width: usize,
}

impl Net {
    /// Makes a network ready for pictures of so many rows and pixels across.
    ///
    /// # Errors
    /// If the network does not run on this machine.
    pub fn new(model: &'static [u8], rows: usize, width: usize) -> Result<Self, Refusal> {
        let plan = tract_onnx::onnx()
            .model_for_read(&mut std::io::Cursor::new(model))
            .and_then(|model| model.with_input_fact(0, f32::fact([1, 1, rows, width]).into()))
            .and_then(|model| model.into_optimized())
            .and_then(|model| model.into_runnable())
            .map_err(failed)?;
        Ok(Self { plan, rows, width })
    }

    /// The answer to a picture of its size, ink from 0 to 1 row by row: numbers as the network lays them out.
    ///
    /// # Errors
    /// If the network does not run.
    pub fn run(&self, ink: &[f32]) -> Result<Vec<f32>, Refusal> {
        let input = Tensor::from_shape(&[1, 1, self.rows, self.width], ink).map_err(failed)?;
        let output = self.plan.run(tvec!(input.into())).map_err(failed)?;
        let scores = output.first().ok_or_else(|| broken("it gave no answer"))?;
        let view = scores.to_plain_array_view::<f32>().map_err(failed)?;
        Ok(view.iter().copied().collect())
    }
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
