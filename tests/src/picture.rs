//! Pictures of an editor's window, and their files. Imports errors only.

use crate::error::WindowError;
use std::fs::File;
use std::io::{BufReader, BufWriter};
use std::path::Path;

/// A picture of the screen: rows from the top, three bytes for each pixel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// The size in pixels.
    pub width: u16,
    /// The size in pixels.
    pub height: u16,
    /// The pixels as red, green and blue.
    pub pixels: Vec<[u8; 3]>,
}

impl Picture {
    /// Writes a PNG file.
    ///
    /// # Errors
    /// If the file cannot be written.
    pub fn save(&self, path: &Path) -> Result<(), WindowError> {
        let file = BufWriter::new(File::create(path)?);
        let mut encoder = png::Encoder::new(file, self.width.into(), self.height.into());
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        let mut writer = encoder.write_header()?;
        writer.write_image_data(&self.pixels.concat())?;
        Ok(())
    }

    /// Reads a PNG file without transparency.
    ///
    /// # Errors
    /// If the file cannot be read, or is not such a picture.
    pub fn load(path: &Path) -> Result<Self, WindowError> {
        let file = BufReader::new(File::open(path)?);
        let mut reader = png::Decoder::new(file).read_info()?;
        let bytes = reader.output_buffer_size().ok_or("a picture without end")?;
        let mut data = vec![0; bytes];
        let frame = reader.next_frame(&mut data)?;
        if (frame.color_type, frame.bit_depth) != (png::ColorType::Rgb, png::BitDepth::Eight) {
            return Err(format!("{}: not 24 bits of colour", path.display()).into());
        }
        let pixels = data.chunks_exact(3).filter_map(|p| p.try_into().ok());
        Ok(Picture {
            width: frame.width.try_into()?,
            height: frame.height.try_into()?,
            pixels: pixels.collect(),
        })
    }

    /// The share of pixels that differ from another picture by more than a step of
    /// `step` in one of their colours; all of them where the sizes differ.
    #[must_use]
    pub fn difference(&self, other: &Self, step: u8) -> f64 {
        if (self.width, self.height) != (other.width, other.height) {
            return 1.0;
        }
        let differ = |(a, b): &(&[u8; 3], &[u8; 3])| {
            a.iter().zip(b.iter()).any(|(a, b)| a.abs_diff(*b) > step)
        };
        let pairs = || self.pixels.iter().zip(&other.pixels);
        #[expect(clippy::cast_precision_loss, reason = "pixels of a screen")]
        let share = pairs().filter(differ).count() as f64 / pairs().count().max(1) as f64;
        share
    }

    /// How many different colours there are: 1 in a blank window.
    #[must_use]
    pub fn colours(&self) -> usize {
        let mut seen = self.pixels.clone();
        seen.sort_unstable();
        seen.dedup();
        seen.len()
    }
}
