//! One AV1 picture to planes of samples (AV1 bitstream specification), by re_rav1d without its assembly.
//! Owns the decoder and the only unsafe calls to it; refuses to know containers and colours.

use std::mem::MaybeUninit;
use std::ptr::NonNull;

use re_rav1d::Dav1dResult;
use re_rav1d::include::dav1d::data::Dav1dData;
use re_rav1d::include::dav1d::dav1d::{Dav1dContext, Dav1dLogger, Dav1dSettings};
use re_rav1d::include::dav1d::headers::{
    DAV1D_CHR_COLOCATED, DAV1D_CHR_VERTICAL, DAV1D_PIXEL_LAYOUT_I400, DAV1D_PIXEL_LAYOUT_I420,
    DAV1D_PIXEL_LAYOUT_I422,
};
use re_rav1d::include::dav1d::picture::Dav1dPicture;
use re_rav1d::src::lib::{
    dav1d_close, dav1d_data_create, dav1d_data_unref, dav1d_default_settings, dav1d_get_picture,
    dav1d_open, dav1d_picture_unref, dav1d_send_data,
};

/// Planes of samples as they were coded.
pub struct Picture {
    /// Width x height, px.
    pub w: usize,
    pub h: usize,
    /// 8, 10 or 12 bits in a sample.
    pub depth: u8,
    /// Luma alone, or luma and two planes of colour. Rows from the top without padding.
    pub planes: Vec<Vec<u16>>,
    /// Whether there is one colour sample for two of luma, across and down.
    pub halved: (bool, bool),
    /// Whether colour samples lie on the first of two luma samples, not between, across and down.
    pub sited: (bool, bool),
    /// Code points of H.273.
    pub primaries: u8,
    pub transfer: u8,
    pub matrix: u8,
    pub full_range: bool,
}

impl Picture {
    /// Columns and rows of a plane.
    pub fn plane_size(&self, plane: usize) -> (usize, usize) {
        let side = |n: usize, half: bool| if half { n.div_ceil(2) } else { n };
        match plane {
            0 => (self.w, self.h),
            _ => (side(self.w, self.halved.0), side(self.h, self.halved.1)),
        }
    }
}

/// An open decoder, closed when dropped.
struct Decoder(Option<Dav1dContext>);

impl Drop for Decoder {
    fn drop(&mut self) {
        // SAFETY: the context came from `dav1d_open` and is closed once.
        unsafe { dav1d_close(Some(NonNull::from(&mut self.0))) }
    }
}

/// Data that is given back when dropped; empty after it was sent whole.
struct Data(Dav1dData);

impl Drop for Data {
    fn drop(&mut self) {
        // SAFETY: the data is `dav1d_data_create`'s, or empty.
        unsafe { dav1d_data_unref(Some(NonNull::from(&mut self.0))) }
    }
}

/// A picture's memory, given back when dropped.
struct Lent(Dav1dPicture);

impl Drop for Lent {
    fn drop(&mut self) {
        // SAFETY: the picture is `dav1d_get_picture`'s, or empty.
        unsafe { dav1d_picture_unref(Some(NonNull::from(&mut self.0))) }
    }
}

/// The one picture in `stream`, a temporal unit, with its film grain.
///
/// # Errors
/// `None` when the stream is damaged, holds anything but one key frame, or one of more than
/// `most_pixels`.
pub fn decode(stream: &[u8], most_pixels: u64) -> Option<Picture> {
    if frames(stream)? != 1 || most_pixels == 0 {
        return None;
    }
    let decoder = open(most_pixels)?;
    let mut data = Data(Dav1dData::default());
    // SAFETY: `data` may be written to; the memory returned holds `stream.len()` bytes.
    unsafe {
        let to = dav1d_data_create(Some(NonNull::from(&mut data.0)), stream.len());
        NonNull::new(to)?;
        to.copy_from_nonoverlapping(stream.as_ptr(), stream.len());
    }
    // A stream is sent in one or two goes: it is refused while a picture waits to be fetched.
    for _ in 0..2 {
        if data.0.sz > 0 {
            // SAFETY: the context is open and the data its own kind.
            let sent = unsafe { dav1d_send_data(decoder.0, Some(NonNull::from(&mut data.0))) };
            if !done(sent) && !wants_more(sent) {
                return None;
            }
        }
        let mut lent = Lent(Dav1dPicture::default());
        // SAFETY: the context is open; the picture may be written to.
        let got = unsafe { dav1d_get_picture(decoder.0, Some(NonNull::from(&mut lent.0))) };
        if done(got) {
            return copied(&lent.0);
        }
        if !wants_more(got) {
            return None;
        }
    }
    None
}

/// How many frames a stream holds, by its open bitstream units (AV1 bitstream specification, 5.3 to
/// 5.9.2). The decoder can do more, but what a still picture never needs is where it trips.
///
/// # Errors
/// `None` when a unit is cut or out of its place, or a frame is no key frame.
pub fn frames(stream: &[u8]) -> Option<usize> {
    let (mut rest, mut reduced, mut count, mut tiles) = (stream, None, 0, false);
    while let [head, tail @ ..] = rest {
        let (kind, extended, sized) = (head >> 3 & 15, head & 4 != 0, head & 2 != 0);
        if head & 0x80 != 0 {
            return None;
        }
        rest = tail.get(usize::from(extended)..)?;
        let mut length = rest.len();
        if sized {
            length = 0;
            for i in 0..5 {
                let (byte, tail) = rest.split_first()?;
                length |= usize::from(byte & 0x7f) << (7 * i);
                rest = tail;
                if byte & 0x80 == 0 {
                    break;
                }
            }
        }
        let (body, after) = rest.split_at_checked(length)?;
        rest = after;
        match kind {
            // Temporal delimiter, metadata, padding.
            2 | 5 | 15 => {}
            // Sequence header: profile (3 bits), still picture, reduced header.
            1 if reduced.is_none() => reduced = Some(*body.first()? & 0x08 != 0),
            // Frame, or its header with tile groups behind it.
            3 | 6 => {
                // Unless reduced: show existing frame, frame type (2 bits, 0 is a key frame).
                if !reduced? && *body.first()? & 0xe0 != 0 {
                    return None;
                }
                count += 1;
                tiles = kind == 3;
            }
            4 if tiles => {}
            _ => return None,
        }
    }
    Some(count)
}

fn done(result: Dav1dResult) -> bool {
    result.0 == 0
}

/// `EAGAIN`, whose number is the system's own.
fn wants_more(result: Dav1dResult) -> bool {
    std::io::Error::from_raw_os_error(-result.0).kind() == std::io::ErrorKind::WouldBlock
}

fn open(most_pixels: u64) -> Option<Decoder> {
    let mut settings = MaybeUninit::<Dav1dSettings>::uninit();
    // SAFETY: the settings are written whole before they are taken.
    let mut settings = unsafe {
        dav1d_default_settings(NonNull::new(settings.as_mut_ptr())?);
        settings.assume_init()
    };
    settings.n_threads = 1;
    settings.max_frame_delay = 1;
    settings.all_layers = 0;
    settings.frame_size_limit = u32::try_from(most_pixels).unwrap_or(u32::MAX);
    // SAFETY: no logger at all.
    settings.logger = unsafe { Dav1dLogger::new(None, None) };
    let mut context = None;
    // SAFETY: both may be read and written.
    let opened = unsafe {
        dav1d_open(
            Some(NonNull::from(&mut context)),
            Some(NonNull::from(&mut settings)),
        )
    };
    (done(opened) && context.is_some()).then_some(Decoder(context))
}

/// The decoder's picture as ours.
fn copied(lent: &Dav1dPicture) -> Option<Picture> {
    // SAFETY: a picture that was got points at its sequence header.
    let head = unsafe { lent.seq_hdr?.as_ref() };
    let halved = match lent.p.layout {
        DAV1D_PIXEL_LAYOUT_I420 => (true, true),
        DAV1D_PIXEL_LAYOUT_I422 => (true, false),
        _ => (false, false),
    };
    let count = if lent.p.layout == DAV1D_PIXEL_LAYOUT_I400 {
        1
    } else {
        3
    };
    let mut picture = Picture {
        w: usize::try_from(lent.p.w).ok()?,
        h: usize::try_from(lent.p.h).ok()?,
        depth: u8::try_from(lent.p.bpc).ok()?,
        planes: Vec::with_capacity(count),
        halved,
        sited: match head.chr {
            DAV1D_CHR_VERTICAL => (true, false),
            DAV1D_CHR_COLOCATED => (true, true),
            _ => (false, false),
        },
        primaries: head.pri as u8,
        transfer: head.trc as u8,
        matrix: head.mtrx as u8,
        full_range: head.color_range != 0,
    };
    for plane in 0..count {
        let (w, h) = picture.plane_size(plane);
        let from = lent.data[plane]?.as_ptr().cast_const();
        let stride = lent.stride[plane.min(1)];
        let mut to = Vec::with_capacity(w * h);
        for y in 0..h {
            // SAFETY: the decoder's plane has `h` rows of at least `w` samples, `stride` bytes apart;
            // samples of more than 8 bits are 16 bits wide and aligned.
            unsafe {
                let row = from.byte_offset(stride * y as isize);
                if picture.depth == 8 {
                    let row = std::slice::from_raw_parts(row.cast::<u8>(), w);
                    to.extend(row.iter().map(|v| u16::from(*v)));
                } else {
                    to.extend_from_slice(std::slice::from_raw_parts(row.cast::<u16>(), w));
                }
            }
        }
        picture.planes.push(to);
    }
    Some(picture)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_single_key_frame_behind_its_sequence_header_counts_as_a_still_picture() {
        let head = [0x0a, 1, 0x18];
        let long_head = [0x0a, 1, 0x10];
        let frame = [0x32, 2, 0, 0];
        let count = |units: &[&[u8]]| frames(&units.concat());
        assert_eq!(count(&[&[0x12, 0], &head, &frame]), Some(1));
        assert_eq!(count(&[&head, &[0x1a, 1, 0], &[0x22, 1, 0]]), Some(1));
        assert_eq!(count(&[&head, &frame, &frame]), Some(2));
        // Without a size the unit takes the rest.
        assert_eq!(count(&[&head, &[0x30, 0, 0, 0]]), Some(1));
        assert_eq!(count(&[&long_head, &frame]), Some(1));
        for bad in [
            // Nothing to say what the frame is; two headers; a frame shown again; no key frame.
            [&frame[..], &[]],
            [&head, &head],
            [&long_head, &[0x32, 1, 0x80]],
            [&long_head, &[0x32, 1, 0x20]],
            // A tile group without its frame, a unit that is cut, a forbidden bit.
            [&head, &[0x22, 1, 0]],
            [&head, &[0x32, 9, 0]],
            [&[0x8a, 1, 0x18], &frame],
        ] {
            assert_eq!(count(&bad), None, "{bad:?}");
        }
        assert!(decode(b"", 100).is_none());
    }
}
