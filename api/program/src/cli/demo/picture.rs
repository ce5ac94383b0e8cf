//! Drawn photographs for the demo, whose cars do not exist.

#![allow(clippy::float_arithmetic, reason = "colours of a picture, and no money")]

use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, Rgb, RgbImage};

use crate::cli::Trouble;

/// Width and height in pixels.
const SIZE: (u32, u32) = (960, 720);

/// Subject of a photograph of the demo.
#[derive(Clone, Copy)]
pub(super) enum Motif {
    /// Fine scratches in paint, in rings around the light of a lamp.
    Swirls,
    /// Small pale chips on a bumper.
    Chips,
    /// Paint with the light of a lamp on it.
    Panel,
}

/// A picture of dark blue paint under a lamp, as a JPEG.
pub(super) fn drawn(motif: Motif) -> Result<Vec<u8>, Trouble> {
    let picture = RgbImage::from_fn(SIZE.0, SIZE.1, |x, y| pixel(motif, f64::from(x), f64::from(y)));
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, 82).encode(&picture, SIZE.0, SIZE.1, ExtendedColorType::Rgb8)?;
    Ok(bytes)
}

fn pixel(motif: Motif, x: f64, y: f64) -> Rgb<u8> {
    let (width, height) = (f64::from(SIZE.0), f64::from(SIZE.1));
    let (dx, dy) = (x - width * 0.55, y - height * 0.42);
    let far = dx.hypot(dy * 1.15);
    let lamp = (-(far / 95.0).powi(2)).exp() * 190.0 + (-(far / 330.0).powi(2)).exp() * 45.0;
    let flow = (y / height).mul_add(-26.0, 30.0) + 6.0 * (x / 170.0).sin();
    let mark = match motif {
        Motif::Panel => 0.0,
        Motif::Swirls => rings(dx, dy, far),
        Motif::Chips => chips(x, y),
    };
    let shade = |base: f64, light: f64| {
        let value = (base + flow + lamp * light + mark).clamp(0.0, 255.0);
        // The value is clamped to a byte just before.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "it is from 0 to 255")]
        let byte = value as u8;
        byte
    };
    Rgb([shade(14.0, 0.92), shade(24.0, 0.96), shade(58.0, 1.0)])
}

/// Arcs around the light, broken where scratches end.
fn rings(dx: f64, dy: f64, far: f64) -> f64 {
    let turn = dy.atan2(dx);
    let ring = (far / 5.5 + 1.7 * (turn * 3.0).sin()).sin();
    let broken = (turn * 23.0 + (far / 5.5).floor() * 2.4).sin();
    let fades = (-((far - 120.0) / 150.0).powi(2)).exp();
    if ring > 0.9 && broken > -0.2 { 105.0 * fades } else { 0.0 }
}

/// Pale spots at random-looking places.
fn chips(x: f64, y: f64) -> f64 {
    let near = |place: u32| {
        let n = f64::from(place);
        let (at_x, at_y) = ((n * 271.0 + 90.0) % 900.0, (n * 197.0 + 130.0) % 660.0);
        (x - at_x).hypot(y - at_y) < 3.0 + (n * 1.7) % 5.0
    };
    if (0..14).any(near) { 140.0 } else { 0.0 }
}
