//! The network: an upright photo in, two probability maps out. Owns the embedded weights and
//! how they are run; refuses to know what is concluded from the maps.

use std::sync::Arc;

use fast_image_resize as fr;
use rten::{Model, ModelOptions, NodeId, RunOptions, ThreadPool, Value};

use super::area::Area;
use super::map::Map;
use crate::photo::raster::Raster;

/// Side of the network's input for the whole frame, px.
pub const WHOLE: usize = 320;
/// The same for the close look; any multiple of 32 would do.
pub const CLOSE: usize = 256;

static WEIGHTS: &[u8] = include_bytes!("weights.onnx");
static WEIGHTS_HASH: &str = include_str!("weights.blake3");

/// What the network answers for one view: probabilities 0 to 1 over the part of the frame that was viewed.
pub struct Maps {
    pub product: Map,
    /// Beyond the surface: room, floor, the backdrop's end.
    pub beyond: Map,
}

/// The network, loaded (about 50 MB of memory). Runs on one thread of its own.
pub struct Network {
    model: Model,
    input: NodeId,
    output: NodeId,
    pool: Arc<ThreadPool>,
}

impl Network {
    /// Loads the embedded weights after checking their BLAKE3 hash.
    ///
    /// # Errors
    /// One sentence when the weights are not those that were packed.
    pub fn load() -> Result<Self, String> {
        Self::from_bytes(WEIGHTS)
    }

    fn from_bytes(weights: &'static [u8]) -> Result<Self, String> {
        if blake3::hash(weights).to_hex().as_str() != WEIGHTS_HASH.trim() {
            return Err("the weights inside the program are damaged".into());
        }
        let say =
            |e: &dyn std::fmt::Display| format!("the weights inside the program do not load: {e}");
        let model = ModelOptions::with_all_ops()
            .prepack_weights(true)
            .load_static_slice(weights)
            .map_err(|e| say(&e))?;
        Ok(Self {
            input: model.node_id("rgb").map_err(|e| say(&e))?,
            output: model.node_id("logits").map_err(|e| say(&e))?,
            pool: Arc::new(ThreadPool::with_num_threads(1)),
            model,
        })
    }

    /// Looks at a view; `mirrored` looks at its mirror image and turns the answer back, so that both
    /// answers lie over the same place.
    pub fn look(&self, view: &View, mirrored: bool) -> Maps {
        let side = view.side;
        let plane = side * side;
        let mut chw = vec![0f32; 3 * plane];
        for (i, px) in view.pixels.chunks_exact(3).enumerate() {
            let (x, y) = (i % side, i / side);
            let x = if mirrored { side - 1 - x } else { x };
            for c in 0..3 {
                chw[c * plane + y * side + x] = f32::from(px[c]);
            }
        }
        let input = Value::from_shape([1, 3, side, side], chw).expect("three planes of the input");
        let options = RunOptions::default().with_thread_pool(Some(self.pool.clone()));
        let [logits] = self
            .model
            .run_n(
                vec![(self.input, input.into())],
                [self.output],
                Some(options),
            )
            .expect("verified weights answer to their own input size");
        let ([_, _, h, w], logits): ([usize; 4], Vec<f32>) = logits
            .into_shape_vec()
            .expect("the answer is a batch of planes");
        assert_eq!((w, h), (side / 2, side / 2), "size of the network's answer");
        let map = |plane: &[f32]| {
            let mut v: Vec<f32> = plane.iter().map(|l| 1.0 / (1.0 + (-l).exp())).collect();
            if mirrored {
                v.chunks_exact_mut(w).for_each(<[f32]>::reverse);
            }
            Map::of_cells(&v, w)
        };
        let (product, beyond) = logits.split_at(w * h);
        Maps {
            product: map(product),
            beyond: map(beyond),
        }
    }
}

/// A part of a photo squashed to side x side x 3 bytes, by antialiased linear interpolation.
pub struct View {
    side: usize,
    pixels: Vec<u8>,
}

impl View {
    /// `part` in px of the photo, inside its frame; `side` a multiple of 32.
    pub fn of(photo: &Raster, part: Area, side: usize) -> Self {
        let size = photo.size();
        let from = fr::images::ImageRef::new(size.w, size.h, photo.pixels(), fr::PixelType::U8x3)
            .expect("a raster is three bytes a pixel");
        let mut to = fr::images::Image::new(side as u32, side as u32, fr::PixelType::U8x3);
        // A hair less than the part, for sums of floats that end a hair outside the photo.
        let within = 1.0 - 1e-9;
        let options = fr::ResizeOptions::new()
            .resize_alg(fr::ResizeAlg::Convolution(fr::FilterType::Bilinear))
            .crop(part.x0, part.y0, part.w() * within, part.h() * within);
        fr::Resizer::new()
            .resize(&from, &mut to, &options)
            .expect("both are three bytes a pixel and the part lies inside the photo");
        Self {
            side,
            pixels: to.into_vec(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::geometry::Size;
    use crate::framing::map::SIDE;

    #[test]
    fn damaged_weights_are_refused_with_words() {
        let bent: &'static [u8] = Box::leak(
            WEIGHTS
                .iter()
                .copied()
                .take(1000)
                .collect::<Vec<u8>>()
                .into_boxed_slice(),
        );
        let e = Network::from_bytes(bent).err().unwrap();
        assert_eq!(e, "the weights inside the program are damaged");
    }

    #[test]
    fn the_mirrored_look_lies_over_the_same_place() {
        // A dark square left of the middle on a light ground is a product to nobody's surprise.
        let mut photo = Raster::filled(Size::new(480, 360), [228, 224, 216]);
        for y in 150..260 {
            for x in 130..230 {
                let i = (y * 480 + x) * 3;
                photo.pixels_mut()[i..i + 3].copy_from_slice(&[120, 40, 30]);
            }
        }
        let eye = Network::load().unwrap();
        let all = Area::new(0.0, 0.0, 480.0, 360.0);
        for (mirrored, side) in [(false, WHOLE), (true, WHOLE), (true, CLOSE)] {
            let m = eye.look(&View::of(&photo, all, side), mirrored).product;
            let all: f32 = m.cells().iter().sum();
            let left: f32 = m
                .cells()
                .chunks(SIDE)
                .flat_map(|row| &row[..SIDE / 2])
                .sum();
            assert!(left > 0.8 * all, "mirrored {mirrored}: {left} of {all}");
        }
    }
}
