//! Files that claim much or go in circles: refused within a second and 100 MiB, before anything of
//! the claimed size is set aside. Memory is counted by the test binary's own allocator, for each
//! thread by itself.

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;
use std::time::{Duration, Instant};

use stallhand::base::reason::Reason;
use stallhand::config::profile::Limits;
use stallhand::photo;

use super::build::{PLAIN, Value, jpeg, segment, tiff, with_exif, with_icc, with_segments};
use super::{H, W, corpus, open, refused, scene};

thread_local! {
    static HELD: Cell<isize> = const { Cell::new(0) };
    static MOST: Cell<isize> = const { Cell::new(0) };
}

/// The system's allocator, counting.
pub struct Counting;

fn count(bytes: isize) {
    let _ = HELD.try_with(|h| {
        h.set(h.get() + bytes);
        let _ = MOST.try_with(|m| m.set(m.get().max(h.get())));
    });
}

unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        count(layout.size() as isize);
        unsafe { System.alloc(layout) }
    }
    unsafe fn alloc_zeroed(&self, layout: Layout) -> *mut u8 {
        count(layout.size() as isize);
        unsafe { System.alloc_zeroed(layout) }
    }
    unsafe fn realloc(&self, at: *mut u8, layout: Layout, size: usize) -> *mut u8 {
        count(size as isize - layout.size() as isize);
        unsafe { System.realloc(at, layout, size) }
    }
    unsafe fn dealloc(&self, at: *mut u8, layout: Layout) {
        count(-(layout.size() as isize));
        unsafe { System.dealloc(at, layout) }
    }
}

/// Runs `f` and tells the most memory that this thread held meanwhile, beyond what it held before.
pub fn measured<T>(f: impl FnOnce() -> T) -> (T, usize, Duration) {
    let before = HELD.with(Cell::get);
    MOST.with(|m| m.set(before));
    let begun = Instant::now();
    let out = f();
    let most = MOST.with(Cell::get) - before;
    (out, most.max(0) as usize, begun.elapsed())
}

/// Both the survey and the opening stay cheap; what they say is returned.
fn cheap(name: &str, bytes: &[u8]) -> Result<photo::Photo, Reason> {
    let limits = Limits::default();
    let (_, memory, time) = measured(|| photo::survey(bytes, &limits).is_ok());
    within(name, memory, time);
    let (opened, memory, time) = measured(|| open_only(bytes));
    within(name, memory, time);
    opened
}

fn open_only(bytes: &[u8]) -> Result<photo::Photo, Reason> {
    photo::open(bytes, &Limits::default(), [255; 3], "").map_err(|r| r.reason)
}

fn within(name: &str, memory: usize, time: Duration) {
    println!("{name}: {} KiB, {} ms", memory >> 10, time.as_millis());
    assert!(memory < 100 << 20, "{name}: {memory} bytes");
    assert!(time < Duration::from_secs(1), "{name}: {time:?}");
}

#[test]
fn a_header_of_65535_by_65535_is_refused_before_anything_is_set_aside() {
    let mut bytes = jpeg(W, H, &scene(), PLAIN);
    let at = bytes.windows(2).position(|w| w == [0xff, 0xc0]).unwrap();
    bytes[at + 5..at + 9].fill(0xff);
    assert_eq!(cheap("JPEG", &bytes).err(), Some(Reason::TooLarge));
}

#[test]
fn a_png_of_100_000_by_100_000_is_refused_before_anything_is_set_aside() {
    let mut bytes = corpus("rgb.png");
    for at in [16, 20] {
        bytes[at..at + 4].copy_from_slice(&100_000u32.to_be_bytes());
    }
    assert_eq!(cheap("PNG", &bytes).err(), Some(Reason::TooLarge));
}

#[test]
fn absurd_sizes_are_refused_in_every_other_format_too() {
    let mut webp = corpus("lossless.webp");
    let at = webp.windows(4).position(|w| w == b"VP8L").unwrap() + 9;
    webp[at..at + 3].fill(0xff);
    let mut bmp = corpus("rgb.bmp");
    bmp[18..22].copy_from_slice(&60_000u32.to_le_bytes());
    bmp[22..26].copy_from_slice(&60_000u32.to_le_bytes());
    let mut heic = corpus("444.heic");
    let at = heic.windows(4).position(|w| w == b"ispe").unwrap() + 8;
    heic[at..at + 8].copy_from_slice(&[0, 0, 0xff, 0xff, 0, 0, 0xff, 0xff]);
    let mut avif = corpus("444.avif");
    let at = avif.windows(4).position(|w| w == b"ispe").unwrap() + 8;
    avif[at..at + 8].copy_from_slice(&[0, 0, 0xff, 0xff, 0, 0, 0xff, 0xff]);
    let tif = tiff(&[
        (256, Value::Long(vec![90_000])),
        (257, Value::Long(vec![90_000])),
        (262, Value::Short(vec![2])),
        (273, Value::Long(vec![8])),
        (279, Value::Long(vec![8])),
    ]);
    for (name, bytes) in [
        ("WebP", webp),
        ("BMP", bmp),
        ("HEIC", heic),
        ("AVIF", avif),
        ("TIFF", tif),
    ] {
        let reason = cheap(name, &bytes).err().expect(name);
        assert!(
            matches!(reason, Reason::TooLarge | Reason::Undecodable),
            "{name}: {reason}"
        );
    }
    let limits = Limits {
        pixels: 1000,
        ..Limits::default()
    };
    let refusal = photo::survey(&corpus("rgb.png"), &limits).unwrap_err();
    assert_eq!(refusal.reason, Reason::TooLarge);
    assert!(refusal.detail.contains("96x64"), "{refusal}");
}

#[test]
fn metadata_that_goes_in_circles_or_claims_much_is_passed_over() {
    let plain = jpeg(W, H, &scene(), PLAIN);
    let mut circle = tiff(&[(0x0112, Value::Short(vec![6]))]);
    // The next directory is this one; so is the one for EXIF.
    let end = circle.len();
    circle[end - 4..].copy_from_slice(&8u32.to_le_bytes());
    let mut itself = tiff(&[
        (0x0112, Value::Short(vec![6])),
        (0x8769, Value::Long(vec![8])),
    ]);
    itself.extend([0; 32]);
    let mut greedy = tiff(&[
        (0x0112, Value::Short(vec![6])),
        (0x010f, Value::Text("a long name")),
    ]);
    let at = greedy.windows(2).position(|w| w == [0x0f, 0x01]).unwrap();
    greedy[at + 4..at + 8].fill(0xff);
    let mut crowded = b"II*\0\x08\0\0\0\xff\xff".to_vec();
    for _ in 0..5000 {
        crowded.extend([0x12, 1, 3, 0, 1, 0, 0, 0, 6, 0, 0, 0]);
    }
    for (name, exif) in [
        ("circle", circle),
        ("itself", itself),
        ("greedy", greedy),
        ("crowded", crowded),
    ] {
        let photo = cheap(name, &with_exif(&plain, &exif)).unwrap();
        assert_eq!(photo.header.orientation, 6, "{name}");
    }
    // A raw file of 100,000 directories that name one another.
    let mut maze = b"II*\0\x08\0\0\0".to_vec();
    for i in 0..100_000u32 {
        let next = 8 + (i + 1) * 30;
        maze.extend(2u16.to_le_bytes());
        maze.extend([0x4a, 1, 4, 0, 1, 0, 0, 0]);
        maze.extend(next.to_le_bytes());
        maze.extend([0x06, 1, 3, 0, 1, 0, 0, 0, 0x23, 0x80, 0, 0]);
        maze.extend(8u32.to_le_bytes());
    }
    assert_eq!(cheap("maze", &maze).err(), Some(Reason::RawAlone));
    // Nothing but the first bytes of a JPEG, over and over.
    let starts = [b"FOVb".as_slice(), &[0xff, 0xd8, 0xff].repeat(3_000_000)].concat();
    assert_eq!(cheap("starts", &starts).err(), Some(Reason::RawAlone));
}

/// A HEIF container of `n` items with their properties and places, each list the other way round.
fn crowd(brand: &[u8; 4], n: u16) -> Vec<u8> {
    let part = |name: &[u8], body: &[u8]| {
        let length = (body.len() as u32 + 8).to_be_bytes();
        [&length[..], name, body].concat()
    };
    let (mut items, mut notes, mut places) = (Vec::new(), Vec::new(), Vec::new());
    for i in 1..=n {
        let (id, back) = (i.to_be_bytes(), (n + 1 - i).to_be_bytes());
        let info = [&[2, 0, 0, 0][..], &id, &[0, 0], b"hvc1", &[0]].concat();
        items.extend(part(b"infe", &info));
        notes.extend([&back[..], &[0]].concat());
        places.extend([&back[..], &[0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 1]].concat());
    }
    let (short, long) = (n.to_be_bytes(), u32::from(n).to_be_bytes());
    let notes = part(b"ipma", &[&[0; 4][..], &long, &notes].concat());
    let lists = [
        vec![0; 4],
        part(b"hdlr", &[&[0; 8][..], b"pict", &[0; 13]].concat()),
        part(b"pitm", &[0, 0, 0, 0, 0, 1]),
        part(b"iinf", &[&[0; 4][..], &short, &items].concat()),
        part(b"iprp", &[part(b"ipco", &[]), notes].concat()),
        part(
            b"iloc",
            &[&[0, 0, 0, 0, 0x44, 0][..], &short, &places].concat(),
        ),
    ];
    let name = part(b"ftyp", &[&brand[..], &[0; 4], brand].concat());
    [name, part(b"meta", &lists.concat())].concat()
}

#[test]
fn a_container_of_tens_of_thousands_of_pictures_is_refused_before_it_is_sorted_out() {
    for brand in [b"heic", b"avif"] {
        let name = String::from_utf8_lossy(brand);
        let refused = cheap(&name, &crowd(brand, 60_000)).err();
        assert_eq!(refused, Some(Reason::Undecodable), "{name}");
        let words = |n| photo::survey(&crowd(brand, n), &Limits::default()).unwrap_err();
        assert!(words(4097).detail.contains("thousands"), "{name}");
        assert!(!words(4096).detail.contains("thousands"), "{name}");
    }
}

#[test]
fn data_that_unpack_to_gigabytes_cost_little() {
    let zeros = vec![0u8; 64 << 20];
    let packed = deflate(&zeros);
    // Text, an unknown chunk and a colour profile of 64 MiB each, in a few kilobytes.
    let plain = corpus("rgb.png");
    let chunk = |name: &[u8; 4], head: &[u8]| {
        let body = [head, packed.as_slice()].concat();
        let mut out = (body.len() as u32).to_be_bytes().to_vec();
        out.extend(name);
        out.extend(&body);
        out.extend(crc(&out[4..]).to_be_bytes());
        out
    };
    let with = |c: Vec<u8>| [&plain[..33], &c, &plain[33..]].concat();
    let text = cheap("zTXt", &with(chunk(b"zTXt", b"a\0\0"))).unwrap();
    assert!(text.remarks.is_empty());
    let profile = cheap("iCCP", &with(chunk(b"iCCP", b"a\0\0")));
    let remarks = profile.map(|p| p.remarks);
    assert_eq!(remarks, Ok(vec![Reason::ProfileIgnored]));
    // A picture whose data unpack to far more than it can hold.
    let at = plain.windows(4).position(|w| w == b"IDAT").unwrap() - 4;
    let bomb = [
        &plain[..at],
        &chunk(b"IDAT", b""),
        &plain[plain.len() - 12..],
    ]
    .concat();
    let _ = cheap("IDAT", &bomb);
    // A TIFF whose one strip unpacks to 64 MiB although it holds a few pixels.
    let tif = tiff(&[
        (256, Value::Long(vec![16])),
        (257, Value::Long(vec![16])),
        (258, Value::Short(vec![8; 3])),
        (259, Value::Short(vec![8])),
        (262, Value::Short(vec![2])),
        (273, Value::Blob(packed.clone())),
        (277, Value::Short(vec![3])),
        (278, Value::Long(vec![16])),
        (279, Value::Long(vec![packed.len() as u32])),
    ]);
    let _ = cheap("TIFF", &tif);
}

/// The zlib stream of `data`, by way of a PNG encoder's IDAT.
fn deflate(data: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    let mut e = png::Encoder::new(&mut out, 8191, (data.len() / 8192) as u32);
    e.set_color(png::ColorType::Grayscale);
    e.set_filter(png::Filter::NoFilter);
    let mut w = e.write_header().unwrap();
    w.write_image_data(&data[..data.len() / 8192 * 8191])
        .unwrap();
    drop(w);
    let mut stream = Vec::new();
    let mut at = 8;
    while at < out.len() {
        let n = u32::from_be_bytes(out[at..at + 4].try_into().unwrap()) as usize;
        if &out[at + 4..at + 8] == b"IDAT" {
            stream.extend(&out[at + 8..at + 8 + n]);
        }
        at += 12 + n;
    }
    stream
}

/// CRC-32 of a PNG chunk (PNG, third edition, annex D).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |mut c, b| {
        c ^= u32::from(*b);
        for _ in 0..8 {
            c = if c & 1 == 1 {
                0xedb8_8320 ^ (c >> 1)
            } else {
                c >> 1
            };
        }
        c
    })
}

#[test]
fn a_profile_over_its_limit_is_left_out_and_the_photo_delivered() {
    let plain = jpeg(W, H, &scene(), PLAIN);
    let photo = cheap("ICC", &with_icc(&plain, &vec![0; 6 << 20])).unwrap();
    assert_eq!(photo.remarks, [Reason::ProfileIgnored]);
}

#[test]
fn segments_without_end_and_scans_without_number_are_refused() {
    let plain = jpeg(W, H, &scene(), PLAIN);
    let many = with_segments(
        &plain,
        &vec![segment(0xe1, b"http://ns.adobe.com/xap/1.0/\0"); 100_000],
    );
    assert!(cheap("segments", &many).is_ok());
    let at = plain.windows(2).position(|w| w == [0xff, 0xda]).unwrap();
    let scans = [
        &plain[..at],
        &plain[at..plain.len() - 2].repeat(500),
        &[0xff, 0xd9],
    ]
    .concat();
    assert_eq!(cheap("scans", &scans).err(), Some(Reason::Undecodable));
    assert_eq!(refused(&plain[..at]), Reason::Undecodable);
}

#[test]
fn decoding_takes_no_more_memory_than_the_header_promised() {
    let big = |way| {
        let mut rgb = vec![0u8; 2400 * 1800 * 3];
        for (i, v) in rgb.iter_mut().enumerate() {
            *v = (i / 7 % 256) as u8;
        }
        jpeg(2400, 1800, &rgb, way)
    };
    let progressive = super::build::Way {
        progressive: true,
        ..PLAIN
    };
    let mut files = vec![
        ("baseline".to_owned(), big(PLAIN)),
        ("progressive".into(), big(progressive)),
    ];
    for name in [
        "rgb.png",
        "lossless.webp",
        "rgb.tif",
        "444.heic",
        "444.avif",
        "alpha.avif",
        "rgb.bmp",
        "rgb-16.png",
    ] {
        files.push((name.into(), corpus(name)));
    }
    for (name, bytes) in files {
        let promised = photo::survey(&bytes, &Limits::default())
            .unwrap()
            .decoded_bytes;
        let (opened, memory, _) = measured(|| open_only(&bytes));
        assert!(opened.is_ok());
        // Small files are dominated by tables, code books and scan lines.
        let fixed = 12 << 20;
        println!("{name}: promised {promised}, took {memory}");
        assert!(
            memory as u64 <= promised + fixed,
            "{name}: promised {promised}, took {memory}"
        );
    }
    let _ = open(&corpus("rgb.png"));
}
