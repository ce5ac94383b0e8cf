//! Scales a picture down by averaging the area that each new pixel covers, row by row and in whole numbers, so that
//! only two rows of sums are needed besides the picture and the result.

use image::{DynamicImage, GrayImage, ImageBuffer, Luma, Rgb, RgbImage};

/// The picture scaled down so that no side is longer than `side` pixels, with transparent areas on white.
pub fn shrink(picture: &DynamicImage, side: u32) -> DynamicImage {
    let to = scaled(picture.width(), picture.height(), side);
    let from = (picture.width(), picture.height());
    match picture {
        DynamicImage::ImageLuma8(p) => gray(average(p.as_raw(), from, to, |[l]: [u8; 1]| [l]), to),
        DynamicImage::ImageLumaA8(p) => gray(average(p.as_raw(), from, to, |[l, a]: [u8; 2]| [over(l, a)]), to),
        DynamicImage::ImageRgb8(p) => rgb(average(p.as_raw(), from, to, |rgb: [u8; 3]| rgb), to),
        DynamicImage::ImageRgba8(p) => {
            rgb(average(p.as_raw(), from, to, |[r, g, b, a]: [u8; 4]| [r, g, b].map(|part| over(part, a))), to)
        }
        DynamicImage::ImageLuma16(p) => gray(average(p.as_raw(), from, to, |wide: [u16; 1]| wide.map(high)), to),
        DynamicImage::ImageLumaA16(p) => {
            gray(average(p.as_raw(), from, to, |[l, a]: [u16; 2]| [over(high(l), high(a))]), to)
        }
        DynamicImage::ImageRgb16(p) => rgb(average(p.as_raw(), from, to, |wide: [u16; 3]| wide.map(high)), to),
        DynamicImage::ImageRgba16(p) => {
            let narrow = |[r, g, b, a]: [u16; 4]| [r, g, b].map(|part| over(high(part), high(a)));
            rgb(average(p.as_raw(), from, to, narrow), to)
        }
        // The three accepted formats have no other kinds of pixels.
        other => {
            let plain = other.to_rgba8();
            rgb(average(plain.as_raw(), from, to, |[r, g, b, a]: [u8; 4]| [r, g, b].map(|part| over(part, a))), to)
        }
    }
}

/// One colour channel, 0 to 255, with its opacity, on white.
pub fn over(part: u8, opacity: u8) -> u8 {
    let (part, opacity) = (u32::from(part), u32::from(opacity));
    u8::try_from((part * opacity + 255 * (255 - opacity)) / 255).unwrap_or(u8::MAX)
}

/// The upper half of a 16-bit colour channel.
fn high(wide: u16) -> u8 {
    wide.to_be_bytes()[0]
}

/// Width and height with the longer side scaled to `side`; no side becomes 0.
fn scaled(width: u32, height: u32, side: u32) -> (u32, u32) {
    let longest = width.max(height).max(1);
    let part = |of: u32| {
        let scaled = (u64::from(of) * u64::from(side) + u64::from(longest) / 2) / u64::from(longest);
        u32::try_from(scaled).unwrap_or(side).max(1)
    };
    (part(width), part(height))
}

fn gray(samples: Vec<u8>, (width, height): (u32, u32)) -> DynamicImage {
    let picture: Option<GrayImage> = ImageBuffer::<Luma<u8>, _>::from_raw(width, height, samples);
    picture.unwrap_or_default().into()
}

fn rgb(samples: Vec<u8>, (width, height): (u32, u32)) -> DynamicImage {
    let picture: Option<RgbImage> = ImageBuffer::<Rgb<u8>, _>::from_raw(width, height, samples);
    picture.unwrap_or_default().into()
}

/// Averages areas. `read` turns the `IN` samples of a pixel into the `OUT` channels that are stored.
///
/// Lengths are counted so that all are whole: along a side of `from` old and `to` new pixels, an old pixel has the
/// length `to` and a new one the length `from`. The share of an old pixel in a new one is the length of their overlap,
/// and the shares in a new pixel add up to `from`.
fn average<T: Copy + Default, const IN: usize, const OUT: usize>(
    samples: &[T],
    (width, height): (u32, u32),
    (new_width, new_height): (u32, u32),
    read: impl Fn([T; IN]) -> [u8; OUT],
) -> Vec<u8> {
    let mut result = Vec::with_capacity(new_width as usize * new_height as usize * OUT);
    let area = u64::from(width) * u64::from(height);
    let mut across = vec![[0_u64; OUT]; new_width as usize];
    let mut down = vec![[0_u64; OUT]; new_width as usize];
    let mut rows = Shares::new(height, new_height);
    for row in samples.chunks_exact(width as usize * IN) {
        across.fill([0; OUT]);
        let mut columns = Shares::new(width, new_width);
        let mut at = 0;
        for pixel in row.as_chunks::<IN>().0 {
            let parts = read(*pixel);
            let (here, next) = columns.of_the_next();
            add(&mut across, at, &parts, here);
            if let Some(rest) = next {
                at += 1;
                add(&mut across, at, &parts, rest);
            }
        }
        let (here, next) = rows.of_the_next();
        add_row(&mut down, &across, here);
        if let Some(share) = next {
            let mean = |sum: u64| u8::try_from((sum + area / 2) / area.max(1)).unwrap_or(u8::MAX);
            result.extend(down.iter().flatten().map(|sum| mean(*sum)));
            down.fill([0; OUT]);
            add_row(&mut down, &across, share);
        }
    }
    result
}

fn add<const OUT: usize>(sums: &mut [[u64; OUT]], at: usize, parts: &[u8; OUT], share: u64) {
    // After the last pixel there is none, and its share is 0.
    if let Some(sums) = sums.get_mut(at) {
        sums.iter_mut().zip(parts).for_each(|(sum, part)| *sum += u64::from(*part) * share);
    }
}

fn add_row<const OUT: usize>(sums: &mut [[u64; OUT]], row: &[[u64; OUT]], share: u64) {
    for (sums, parts) in sums.iter_mut().zip(row) {
        sums.iter_mut().zip(parts).for_each(|(sum, part)| *sum += *part * share);
    }
}

/// Distributes old pixels to new ones along a side.
struct Shares {
    old: u64,
    new: u64,
    /// Length that is still missing in the current new pixel.
    lacks: u64,
}

impl Shares {
    fn new(from: u32, to: u32) -> Self {
        let (old, new) = (u64::from(to), u64::from(from));
        Self { old, new, lacks: new }
    }

    /// Share of the next old pixel in the current new one and, if that is full, in the one after it.
    fn of_the_next(&mut self) -> (u64, Option<u64>) {
        if self.old < self.lacks {
            self.lacks -= self.old;
            return (self.old, None);
        }
        let here = self.lacks;
        let rest = self.old - here;
        self.lacks = self.new - rest;
        (here, Some(rest))
    }
}

#[cfg(test)]
mod tests {
    use image::{GenericImageView, Rgba, RgbaImage};

    use super::*;

    #[test]
    fn each_new_pixel_is_the_mean_of_what_it_covers() {
        // Five pixels on two: the third is half in each, so 2.5 pixels each: (0 + 10 + 20 / 2) / 2.5 = 8 and 32.
        let row = GrayImage::from_raw(5, 1, vec![0, 10, 20, 30, 40]).unwrap();
        let small = shrink(&row.into(), 2).into_luma8();
        assert_eq!((small.dimensions(), small.as_raw().as_slice()), ((2, 1), &[8, 32][..]));
        let block = RgbImage::from_fn(4, 4, |x, y| if x < 2 && y < 2 { Rgb([200, 100, 0]) } else { Rgb([0, 0, 8]) });
        let small = shrink(&block.into(), 2).into_rgb8();
        assert_eq!(small.get_pixel(0, 0).0, [200, 100, 0]);
        assert_eq!(small.get_pixel(1, 1).0, [0, 0, 8]);
    }

    #[test]
    fn one_colour_stays_itself_at_every_size() {
        for (width, height) in [(4097, 3), (12_000, 1), (1, 5000), (4099, 4098)] {
            let plain = GrayImage::from_pixel(width, height, Luma([77]));
            let small = shrink(&plain.into(), 4096);
            assert_eq!(small.width().max(small.height()), 4096);
            assert!(small.into_luma8().iter().all(|sample| *sample == 77));
        }
    }

    #[test]
    fn what_shows_through_is_white_whatever_colour_lies_behind_it() {
        let hidden = RgbaImage::from_pixel(8, 8, Rgba([9, 9, 9, 0]));
        assert!(shrink(&hidden.into(), 4).pixels().all(|(_, _, pixel)| pixel.0 == [255; 4]));
    }

    #[test]
    fn pixels_of_sixteen_bits_a_part_become_pixels_of_eight() {
        let wide = ImageBuffer::<Rgb<u16>, _>::from_pixel(6, 6, Rgb([0xffff, 0x8000, 0x00ff]));
        assert_eq!(shrink(&wide.into(), 3).into_rgb8().get_pixel(1, 1).0, [0xff, 0x80, 0]);
    }
}
