//! What is a picture here? Ink between 0 (paper) and 1 (black), row by row, with the few operations that straightening needs.

#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "pixel arithmetic: sizes are held under MOST_PIXELS, coordinates are clamped before they are used"
)]

/// A grey picture: how much ink stands at each pixel.
#[derive(Clone, PartialEq, Debug)]
pub struct Grey {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Ink from 0 to 1, row by row.
    pub ink: Vec<f32>,
}

impl Grey {
    /// Blank paper.
    #[must_use]
    pub fn blank(width: usize, height: usize) -> Self {
        Self {
            width,
            height,
            ink: vec![0.0; width * height],
        }
    }

    /// Ink at a pixel; paper outside the picture.
    #[must_use]
    pub fn at(&self, x: usize, y: usize) -> f32 {
        if x < self.width && y < self.height {
            self.ink[y * self.width + x]
        } else {
            0.0
        }
    }

    /// Ink between pixels, from the four around; paper outside. Pixel centres have whole coordinates.
    #[must_use]
    pub fn between(&self, x: f32, y: f32) -> f32 {
        if !(x > -1.0 && y > -1.0 && x < self.width as f32 && y < self.height as f32) {
            return 0.0;
        }
        let (fx, fy) = (x.floor(), y.floor());
        let (dx, dy) = (x - fx, y - fy);
        let pixel = |px: f32, py: f32| {
            if px < 0.0 || py < 0.0 {
                0.0
            } else {
                self.at(px as usize, py as usize)
            }
        };
        let top = pixel(fx, fy) * (1.0 - dx) + pixel(fx + 1.0, fy) * dx;
        let bottom = pixel(fx, fy + 1.0) * (1.0 - dx) + pixel(fx + 1.0, fy + 1.0) * dx;
        top * (1.0 - dy) + bottom * dy
    }

    /// The same picture so many times the size; each new pixel is the mean of the area it covers.
    #[must_use]
    pub fn scaled(&self, by: f32) -> Self {
        let width = ((self.width as f32 * by).round() as usize).max(1);
        let height = ((self.height as f32 * by).round() as usize).max(1);
        let across = spans(self.width, width);
        let down = spans(self.height, height);
        // First across, then down.
        let mut rows = vec![0.0; width * self.height];
        for y in 0..self.height {
            let line = &self.ink[y * self.width..(y + 1) * self.width];
            for (x, span) in across.iter().enumerate() {
                rows[y * width + x] = span.mean(|at| line[at]);
            }
        }
        let mut out = Self::blank(width, height);
        for (y, span) in down.iter().enumerate() {
            let target = &mut out.ink[y * width..(y + 1) * width];
            for (at, weight) in span.parts() {
                let row = &rows[at * width..(at + 1) * width];
                for (sum, ink) in target.iter_mut().zip(row) {
                    *sum += ink * weight;
                }
            }
        }
        out
    }

    /// Paper made even and white: what a broad stretch of paper shows is taken off, and the darkest ink is made 1.
    #[must_use]
    pub fn flattened(&self) -> Self {
        let cell = (self.width.min(self.height) / 24).clamp(8, 64);
        let (across, down) = (self.width.div_ceil(cell), self.height.div_ceil(cell));
        let mut paper = vec![0.0; across * down];
        let mut values = Vec::with_capacity(cell * cell);
        for cy in 0..down {
            for cx in 0..across {
                values.clear();
                for y in (cy * cell)..((cy + 1) * cell).min(self.height) {
                    let row = &self.ink[y * self.width..];
                    values.extend_from_slice(&row[cx * cell..((cx + 1) * cell).min(self.width)]);
                }
                paper[cy * across + cx] = quantile(&mut values, 0.3);
            }
        }
        let paper = darkest_spots_off(&paper, across, down);
        let mut out = self.clone();
        for y in 0..self.height {
            for x in 0..self.width {
                let under = cell_at(
                    &paper,
                    across,
                    down,
                    x as f32 / cell as f32,
                    y as f32 / cell as f32,
                );
                let ink = &mut out.ink[y * self.width + x];
                *ink = (*ink - under).max(0.0);
            }
        }
        let mut sample: Vec<f32> = out
            .ink
            .iter()
            .step_by(7)
            .copied()
            .filter(|ink| *ink > 0.08)
            .collect();
        let top = quantile(&mut sample, 0.8).max(0.15);
        for ink in &mut out.ink {
            *ink = (*ink / top).min(1.0);
        }
        out
    }
}

/// The cells of paper, each no darker than what stands around it: a beam or a photograph is not paper.
fn darkest_spots_off(paper: &[f32], across: usize, down: usize) -> Vec<f32> {
    let mut out = paper.to_vec();
    for y in 0..down {
        for x in 0..across {
            let mut least = f32::MAX;
            for ny in y.saturating_sub(1)..(y + 2).min(down) {
                for nx in x.saturating_sub(1)..(x + 2).min(across) {
                    least = least.min(paper[ny * across + nx]);
                }
            }
            out[y * across + x] = least;
        }
    }
    out
}

/// A value of a grid of cells, between the middles of the four cells around.
pub(crate) fn cell_at(cells: &[f32], across: usize, down: usize, x: f32, y: f32) -> f32 {
    let (x, y) = (
        (x - 0.5).clamp(0.0, across as f32 - 1.0),
        (y - 0.5).clamp(0.0, down as f32 - 1.0),
    );
    let (x0, y0) = (x as usize, y as usize);
    let (x1, y1) = ((x0 + 1).min(across - 1), (y0 + 1).min(down - 1));
    let (dx, dy) = (x - x0 as f32, y - y0 as f32);
    let top = cells[y0 * across + x0] * (1.0 - dx) + cells[y0 * across + x1] * dx;
    let bottom = cells[y1 * across + x0] * (1.0 - dx) + cells[y1 * across + x1] * dx;
    top * (1.0 - dy) + bottom * dy
}

/// The value below which a share of the values lies; 0 for none.
pub(crate) fn quantile(values: &mut [f32], share: f32) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let at = ((values.len() - 1) as f32 * share) as usize;
    let (_, value, _) = values.select_nth_unstable_by(at, f32::total_cmp);
    *value
}

/// Which old pixels make up a new one, and with what share.
struct SourceSpan {
    from: usize,
    weights: Vec<f32>,
}

impl SourceSpan {
    fn parts(&self) -> impl Iterator<Item = (usize, f32)> + '_ {
        self.weights
            .iter()
            .enumerate()
            .map(|(k, weight)| (self.from + k, *weight))
    }

    fn mean(&self, ink: impl Fn(usize) -> f32) -> f32 {
        self.parts().map(|(at, weight)| ink(at) * weight).sum()
    }
}

fn spans(from: usize, to: usize) -> Vec<SourceSpan> {
    let step = from as f32 / to as f32;
    (0..to)
        .map(|k| {
            if step < 1.0 {
                // Enlarged: between the two nearest.
                let at = ((k as f32 + 0.5) * step - 0.5).clamp(0.0, from as f32 - 1.0);
                let low = (at as usize).min(from - 1);
                let part = at - low as f32;
                let weights = if low + 1 < from {
                    vec![1.0 - part, part]
                } else {
                    vec![1.0]
                };
                return SourceSpan { from: low, weights };
            }
            let (a, b) = (k as f32 * step, (k as f32 + 1.0) * step);
            let first = (a as usize).min(from - 1);
            let last = (b.ceil() as usize).clamp(first + 1, from);
            let mut weights: Vec<f32> = (first..last)
                .map(|at| ((at as f32 + 1.0).min(b) - (at as f32).max(a)).max(0.0))
                .collect();
            let sum: f32 = weights.iter().sum();
            if sum > 0.0 {
                weights.iter_mut().for_each(|weight| *weight /= sum);
            }
            SourceSpan { from: first, weights }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scaling_keeps_the_mean() {
        let mut grey = Grey::blank(40, 30);
        for (k, ink) in grey.ink.iter_mut().enumerate() {
            *ink = if k % 3 == 0 { 1.0 } else { 0.0 };
        }
        let mean = |g: &Grey| g.ink.iter().sum::<f32>() / g.ink.len() as f32;
        for by in [0.25, 0.5, 0.7, 1.0] {
            assert!((mean(&grey.scaled(by)) - mean(&grey)).abs() < 0.02, "{by}");
        }
    }

    #[test]
    fn a_shadow_is_taken_off_and_ink_stays() {
        let mut grey = Grey::blank(400, 300);
        for y in 0..300 {
            for x in 0..400 {
                let line = if y % 20 == 0 { 0.5 } else { 0.0 };
                grey.ink[y * 400 + x] = 0.1 + 0.3 * x as f32 / 400.0 + line;
            }
        }
        let flat = grey.flattened();
        assert!(flat.at(350, 145) < 0.1 && flat.at(50, 145) < 0.1);
        assert!(flat.at(350, 140) > 0.8 && flat.at(50, 140) > 0.8);
    }
}
