//! An animated PNG (Portable Network Graphics, third edition, W3C 2025), written picture by picture: of each only what
//! changed against the one before.

use std::io::{self, Write};

use png::{BlendOp, DisposeOp};

use super::shot::Camera;
use super::{Cut, Film, HOLD_S, Progress, Shooting};
use crate::app::picture::Picture;

/// Writes all pictures of a walk.
pub(super) fn write(
    film: &Film,
    camera: &mut Camera,
    shooting: &Shooting,
    cut: &Cut,
    texts: &[(&'static str, String)],
    progress: &Progress,
    to: impl Write,
) -> io::Result<()> {
    let mut before = camera.at(film, 0.0);
    let mut encoder = png::Encoder::new(to, before.width, before.height);
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    // Shown once: it ends where it is to stay.
    encoder.set_animated(cut.moving + 1, 1)?;
    encoder.set_frame_delay(1, shooting.frames_per_second as u16)?;
    encoder.set_blend_op(BlendOp::Source)?;
    encoder.set_dispose_op(DisposeOp::None)?;
    for (keyword, text) in texts {
        encoder.add_itxt_chunk((*keyword).to_owned(), text.clone())?;
    }
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&before.rgba)?;
    progress.step()?;
    for place in 1..=cut.moving {
        let held = place == cut.moving;
        let now = if held { camera.held(film) } else { camera.at(film, cut.at_ms(place)) };
        if held {
            writer.set_frame_delay(HOLD_S as u16, 1)?;
        }
        let [left, top, width, height] = changed(&before, &now);
        writer.reset_frame_position()?;
        writer.set_frame_dimension(width, height)?;
        writer.set_frame_position(left, top)?;
        writer.write_image_data(&part(&now, [left, top, width, height]))?;
        before = now;
        progress.step()?;
    }
    writer.finish()?;
    Ok(())
}

/// Left, top, width and height of what changed; one pixel where nothing did.
fn changed(before: &Picture, now: &Picture) -> [u32; 4] {
    let row = 4 * now.width as usize;
    let rows = || before.rgba.chunks_exact(row).zip(now.rgba.chunks_exact(row));
    let differs = |(old, new): (&[u8], &[u8])| old != new;
    let Some(top) = rows().position(differs) else { return [0, 0, 1, 1] };
    let bottom = rows().rposition(differs).unwrap_or(top);
    let (mut left, mut right) = (now.width as usize, 0);
    for (old, new) in rows().skip(top).take(bottom - top + 1).filter(|(old, new)| old != new) {
        let pixels = || old.as_chunks::<4>().0.iter().zip(new.as_chunks::<4>().0);
        left = left.min(pixels().position(|(old, new)| old != new).unwrap_or(left));
        right = right.max(pixels().rposition(|(old, new)| old != new).unwrap_or(right));
    }
    [left as u32, top as u32, (right - left + 1) as u32, (bottom - top + 1) as u32]
}

/// The pixels of a part.
fn part(picture: &Picture, [left, top, width, height]: [u32; 4]) -> Vec<u8> {
    let row = 4 * picture.width as usize;
    let (from, to) = (4 * left as usize, 4 * (left + width) as usize);
    let rows = picture.rgba.chunks_exact(row).skip(top as usize).take(height as usize);
    rows.flat_map(|row| &row[from..to]).copied().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture(dots: &[(usize, usize)]) -> Picture {
        let mut rgba = vec![0; 4 * 10 * 8];
        for (x, y) in dots {
            rgba[4 * (y * 10 + x) + 1] = 200;
        }
        Picture { width: 10, height: 8, rgba }
    }

    #[test]
    fn only_what_changed_is_taken() {
        let (empty, dotted) = (picture(&[]), picture(&[(3, 2), (7, 5), (4, 4)]));
        assert_eq!(changed(&empty, &dotted), [3, 2, 5, 4]);
        assert_eq!(changed(&dotted, &dotted), [0, 0, 1, 1]);
        let taken = part(&dotted, [3, 2, 5, 4]);
        assert_eq!((taken.len(), taken[1], taken[taken.len() - 3]), (80, 200, 200));
    }
}
