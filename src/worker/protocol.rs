//! What the daemon and a worker say to each other: a length, JSON, and bytes behind it.
//! Owns the wire's form; refuses to know who speaks. Both ends are the same build.

use std::io::{self, Read, Write};

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use super::doors::Door;
use super::fence::Level;
pub use super::wire::{WireCorrection, WireExtension, WireMeasures, WireSpan};
use crate::base::geometry::{Rect, Shape, Size};
use crate::base::reason::{Reason, Refusal, Verdict};
use crate::config::profile::{Imprint, Limits, Profile};
use crate::framing::Framing;
use crate::photo::Header;
use crate::pipeline::Prepared;

/// Longest JSON part, bytes.
const TEXT_MOST: u32 = 1 << 24;
/// Longest answer blob, bytes.
const BLOB_MOST: u64 = 1 << 30;

/// One task: what is asked of a photo, whose bytes follow.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Task {
    /// The photo's own file name.
    pub name: String,
    pub pixels_most: u64,
    pub icc_most: usize,
    pub ask: Ask,
}

impl Task {
    pub fn new(name: String, limits: &Limits, ask: Ask) -> Self {
        Self {
            name,
            pixels_most: limits.pixels,
            icc_most: limits.icc_bytes,
            ask,
        }
    }
    pub fn limits(&self) -> Limits {
        Limits {
            pixels: self.pixels_most,
            icc_bytes: self.icc_most,
        }
    }
}

#[derive(Clone, Debug, Serialize, Deserialize)]
pub enum Ask {
    /// How far the fence reaches, and what comes of trying these doors. The photo is empty.
    Fence { doors: Vec<Door> },
    /// The header alone.
    Survey,
    /// Decisions and files.
    Prepare {
        profiles: Vec<(Profile, WireCorrection)>,
        imprint: Imprint,
        turn: u32,
        decide_only: bool,
        /// Also a PNG that draws the first profile's decision.
        picture: bool,
    },
}

#[derive(Clone, Debug, Serialize, Deserialize)]
pub enum Answer {
    Fenced {
        level: Level,
        /// For each door why it stayed shut; `None` is open.
        doors: Vec<Option<String>>,
    },
    Surveyed(Box<Facts>),
    Prepared(Box<Work>),
    Refused(Refused),
    /// The worker itself is not able to work.
    Broken(String),
}

/// A header on the wire.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Facts {
    pub format: String,
    pub size: Size,
    pub orientation: u8,
    pub captured: Option<String>,
    pub decoded_bytes: u64,
    /// It is a raw file, which waits for its twin.
    pub raw: bool,
    /// Why a raw file cannot be used without its twin.
    pub refused: Option<Refused>,
}

impl From<Header> for Facts {
    fn from(h: Header) -> Self {
        Self {
            format: h.format.to_owned(),
            size: h.size,
            orientation: h.orientation,
            captured: h.captured,
            decoded_bytes: h.decoded_bytes,
            ..Self::default()
        }
    }
}

/// A refusal on the wire.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Refused {
    pub reason: String,
    pub detail: String,
}

impl From<Refusal> for Refused {
    fn from(r: Refusal) -> Self {
        Self {
            reason: r.reason.code().into(),
            detail: r.detail,
        }
    }
}
impl Refused {
    pub fn reason(&self) -> Reason {
        Reason::from_code(&self.reason).unwrap_or(Reason::Undecodable)
    }
}

/// A photo that was read, with one result for each profile; files follow as blobs.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Work {
    pub facts: Facts,
    /// Upright, turned.
    pub size: Size,
    pub colour: String,
    pub remarks: Vec<String>,
    pub results: Vec<ProfileResult>,
    pub measures: Option<WireMeasures>,
    /// Blob of the small picture for the proof sheet.
    pub proof: Option<usize>,
    /// Blob of the drawn decision.
    pub picture: Option<usize>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct ProfileResult {
    pub subject: Option<Rect>,
    pub usable: Option<Rect>,
    pub crop: Rect,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub extension: Option<WireExtension>,
    pub thumbnails: Vec<(Shape, bool)>,
    pub confidence: f64,
    pub verdict: String,
    pub reasons: Vec<String>,
    /// Why there is no file although the framing would deliver.
    pub refused: Option<Refused>,
    pub file: Option<FileFacts>,
    /// The fills it could have within its listing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub span: Option<WireSpan>,
}

impl ProfileResult {
    /// What becomes of this profile: a refusal in rendering holds, whatever the framing said.
    pub fn verdict(&self) -> Verdict {
        if self.refused.is_some() {
            return Verdict::Hold;
        }
        Verdict::from_code(&self.verdict).unwrap_or(Verdict::Hold)
    }
}

#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct FileFacts {
    /// Which blob holds it.
    pub blob: usize,
    pub size: Size,
    pub quality: f64,
    pub subsampling: String,
    pub ssimulacra2: Option<f64>,
}

fn codes(reasons: &[Reason]) -> Vec<String> {
    reasons.iter().map(|r| r.code().to_owned()).collect()
}

fn result_of(framing: Framing) -> ProfileResult {
    ProfileResult {
        subject: framing.subject,
        usable: framing.usable,
        crop: framing.crop,
        extension: framing.extension.map(WireExtension::from),
        thumbnails: framing.thumbnails,
        confidence: framing.confidence,
        verdict: framing.verdict.code().into(),
        reasons: codes(&framing.reasons),
        refused: None,
        file: None,
        span: framing.span.map(WireSpan::from),
    }
}

/// The answer for a prepared photo, with its blobs; `raw` when it is a raw file.
pub fn answer_of(p: Prepared, raw: bool) -> (Answer, Vec<Vec<u8>>) {
    let mut blobs = Vec::new();
    let mut put = |bytes: Vec<u8>| {
        blobs.push(bytes);
        blobs.len() - 1
    };
    let results = p
        .outcomes
        .into_iter()
        .map(|o| {
            let mut r = result_of(o.framing);
            match o.rendition {
                Some(Ok(file)) => {
                    r.reasons.extend(codes(&file.reasons));
                    r.file = Some(FileFacts {
                        size: file.size,
                        quality: file.quality,
                        subsampling: file.subsampling.into(),
                        ssimulacra2: file.ssimulacra2,
                        blob: put(file.into_bytes()),
                    });
                }
                Some(Err(why)) => r.refused = Some(why.into()),
                None => {}
            }
            r
        })
        .collect();
    let work = Work {
        facts: Facts {
            raw,
            ..p.header.into()
        },
        size: p.size,
        colour: p.colour,
        remarks: codes(&p.remarks),
        results,
        measures: p.measures.map(Into::into),
        proof: (!p.proof.is_empty()).then(|| put(p.proof)),
        picture: p.picture.map(&mut put),
    };
    (Answer::Prepared(Box::new(work)), blobs)
}

/// Sends a value and its blobs.
///
/// # Errors
/// The pipe's error.
pub fn send<T: Serialize>(to: &mut impl Write, value: &T, blobs: &[Vec<u8>]) -> io::Result<()> {
    let lengths: Vec<u64> = blobs.iter().map(|b| b.len() as u64).collect();
    let text = serde_json::to_vec(&(value, lengths))?;
    to.write_all(&(text.len() as u32).to_le_bytes())?;
    to.write_all(&text)?;
    for b in blobs {
        to.write_all(b)?;
    }
    to.flush()
}

/// Receives a value and its blobs; `None` at the stream's end.
///
/// # Errors
/// The pipe's error, or lengths and text that make no sense.
pub fn receive<T: DeserializeOwned>(from: &mut impl Read) -> io::Result<Option<(T, Vec<Vec<u8>>)>> {
    let Some(text) = receive_text(from)? else {
        return Ok(None);
    };
    let (value, lengths): (T, Vec<u64>) = serde_json::from_slice(&text)?;
    let mut blobs = Vec::with_capacity(lengths.len());
    for n in lengths {
        blobs.push(exactly(from, n, BLOB_MOST)?);
    }
    Ok(Some((value, blobs)))
}

fn receive_text(from: &mut impl Read) -> io::Result<Option<Vec<u8>>> {
    let mut head = [0; 4];
    let mut have = 0;
    while have < head.len() {
        match from.read(&mut head[have..]) {
            Ok(0) if have == 0 => return Ok(None),
            Ok(0) => return Err(io::ErrorKind::UnexpectedEof.into()),
            Ok(n) => have += n,
            Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
            Err(e) => return Err(e),
        }
    }
    let n = u32::from_le_bytes(head);
    exactly(from, n.into(), TEXT_MOST.into()).map(Some)
}

fn exactly(from: &mut impl Read, n: u64, most: u64) -> io::Result<Vec<u8>> {
    if n > most {
        return Err(io::Error::new(
            io::ErrorKind::InvalidData,
            "message too long",
        ));
    }
    let mut bytes = Vec::with_capacity(n as usize);
    if from.take(n).read_to_end(&mut bytes)? as u64 != n {
        return Err(io::ErrorKind::UnexpectedEof.into());
    }
    Ok(bytes)
}

/// Sends a task with the photo's bytes streamed from `source`, which must give `length` bytes.
/// Returns the BLAKE3 hash of what was sent.
///
/// # Errors
/// `UnexpectedEof` when the source is shorter than it was, or the pipe's error.
pub fn send_task(
    to: &mut impl Write,
    task: &Task,
    source: &mut impl Read,
    length: u64,
) -> io::Result<blake3::Hash> {
    let text = serde_json::to_vec(&(task, length))?;
    to.write_all(&(text.len() as u32).to_le_bytes())?;
    to.write_all(&text)?;
    let mut hasher = blake3::Hasher::new();
    let mut buffer = vec![0; 1 << 18];
    let mut left = length;
    while left > 0 {
        let most = (buffer.len() as u64).min(left) as usize;
        let n = match source.read(&mut buffer[..most]) {
            Ok(0) => return Err(io::ErrorKind::UnexpectedEof.into()),
            Ok(n) => n,
            Err(e) if e.kind() == io::ErrorKind::Interrupted => continue,
            Err(e) => return Err(e),
        };
        hasher.update(&buffer[..n]);
        to.write_all(&buffer[..n])?;
        left -= n as u64;
    }
    to.flush()?;
    Ok(hasher.finalize())
}

/// Receives a task and the photo's bytes; `None` at the stream's end.
///
/// # Errors
/// The pipe's error.
pub fn receive_task(from: &mut impl Read) -> io::Result<Option<(Task, Vec<u8>)>> {
    let Some(text) = receive_text(from)? else {
        return Ok(None);
    };
    let (task, length): (Task, u64) = serde_json::from_slice(&text)?;
    Ok(Some((task, exactly(from, length, u64::MAX)?)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_task_arrives_with_the_very_bytes_that_were_hashed() {
        let photo = vec![7u8; 1_000_003];
        let task = Task::new("a.jpg".into(), &Limits::default(), Ask::Survey);
        let mut wire = Vec::new();
        let hash = send_task(&mut wire, &task, &mut &photo[..], photo.len() as u64).unwrap();
        let mut reader = &wire[..];
        let (back, bytes) = receive_task(&mut reader).unwrap().unwrap();
        assert_eq!((back.name.as_str(), blake3::hash(&bytes)), ("a.jpg", hash));
        assert!(receive_task(&mut reader).unwrap().is_none());
    }

    #[test]
    fn a_source_that_shrank_is_an_error_and_a_torn_message_is_too() {
        let task = Task::new("a.jpg".into(), &Limits::default(), Ask::Survey);
        assert!(send_task(&mut Vec::new(), &task, &mut &[1u8; 10][..], 20).is_err());
        let mut wire = Vec::new();
        send(&mut wire, &Answer::Broken("x".into()), &[vec![1; 100]]).unwrap();
        for cut in 1..wire.len() {
            assert!(receive::<Answer>(&mut &wire[..cut]).is_err(), "{cut}");
        }
    }
}
