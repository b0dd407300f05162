//! The one table of settings: each key with its kind, bounds, default and explanation. The checks,
//! the documented default and the editor's schema all come from it. It knows no file.

/// What may stand behind a key.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// A folder, absolute, under `~`, or relative to the configuration file.
    Path,
    /// A span of time within bounds, ms.
    Span { least: u64, most: u64 },
    /// A size within bounds, bytes.
    Bytes { least: u64, most: u64 },
    /// A whole number within bounds.
    Whole { least: u64, most: u64 },
    /// A number within bounds.
    Number { least: f64, most: f64 },
    /// true or false.
    Switch,
    /// One line of text, at most this many characters.
    Line { most: usize },
    /// A profile's name.
    Name,
    /// `width:height`, and `as-is`.
    Shape,
    /// A list of `width:height`.
    Ratios,
    /// A list of globs, at least one.
    Globs,
    /// One of these words, each with its meaning.
    Choice(&'static [(&'static str, &'static str)]),
    /// `#rrggbb`.
    Colour,
    /// A table of further keys, written inline.
    Table(&'static [Key]),
}

/// One setting.
#[derive(Clone, Copy, Debug)]
pub struct Key {
    pub name: &'static str,
    pub kind: Kind,
    /// As TOML; empty where the default depends on the system.
    pub default: &'static str,
    /// One or two plain sentences.
    pub says: &'static str,
}

/// One table of the file.
#[derive(Clone, Copy, Debug)]
pub struct Section {
    pub name: &'static str,
    /// Written `[[name]]`, any number of times.
    pub many: bool,
    pub says: &'static str,
    pub keys: &'static [Key],
}

impl Section {
    /// As its heading stands in the file.
    pub fn heading(&self) -> String {
        if self.many {
            format!("[[{}]]", self.name)
        } else {
            format!("[{}]", self.name)
        }
    }
}

const fn key(name: &'static str, kind: Kind, default: &'static str, says: &'static str) -> Key {
    Key {
        name,
        kind,
        default,
        says,
    }
}

const DAY: u64 = 86_400_000;

/// Longest name of a profile.
pub const NAME_MOST: usize = 40;

const QUALITY: &[Key] = &[
    key(
        "floor",
        Kind::Whole {
            least: 1,
            most: 100,
        },
        "70",
        "The lowest quality ever used.",
    ),
    key(
        "ceiling",
        Kind::Whole {
            least: 1,
            most: 100,
        },
        "92",
        "The highest quality ever used.",
    ),
    key(
        "target",
        Kind::Number {
            least: 0.0,
            most: 100.0,
        },
        "88",
        "The SSIMULACRA2 score that is enough: heavier files are not written for more.",
    ),
];

/// The whole file, in the order in which it is written.
pub const SECTIONS: &[Section] = &[
    Section {
        name: "folders",
        many: false,
        says: "Where things lie. ~ is your home folder. All five may be on any disk, but none inside another.",
        keys: &[
            key(
                "inbox",
                Kind::Path,
                "\"~/Pictures/Stallhand/inbox\"",
                "The folder that is watched: drop photos here, one sub-folder for each thing you sell.",
            ),
            key(
                "ready",
                Kind::Path,
                "\"~/Pictures/Stallhand/ready\"",
                "Finished files, ready to list.",
            ),
            key(
                "held",
                Kind::Path,
                "\"~/Pictures/Stallhand/held\"",
                "Photos that need you, each with a note beside it.",
            ),
            key(
                "originals",
                Kind::Path,
                "\"~/Pictures/Stallhand/originals\"",
                "Where your original photos go when they are done: moved, never changed.",
            ),
            key(
                "state",
                Kind::Path,
                "",
                "What Stallhand remembers: journal, ledger and proof sheet. Without this line it is this system's own place for such things.",
            ),
        ],
    },
    Section {
        name: "watch",
        many: false,
        says: "When photos are taken up, and what becomes of them.",
        keys: &[
            key(
                "settle",
                Kind::Span {
                    least: 0,
                    most: 3_600_000,
                },
                "\"3s\"",
                "A file is read when it has not changed for this long.",
            ),
            key(
                "listing_settle",
                Kind::Span {
                    least: 0,
                    most: DAY,
                },
                "\"60s\"",
                "A listing's photos are numbered when you have not changed its folder for this long. Raw files wait this long for their JPEG.",
            ),
            key(
                "rescan",
                Kind::Span {
                    least: 100,
                    most: DAY,
                },
                "\"60s\"",
                "The inbox is looked through this often, whatever the system reports.",
            ),
            key(
                "after",
                Kind::Choice(&[
                    ("archive", "it moves to originals"),
                    ("keep", "it stays in the inbox, for folders that are synced"),
                ]),
                "\"archive\"",
                "What becomes of a finished original.",
            ),
        ],
    },
    Section {
        name: "profile",
        many: true,
        says: "One kind of output. Repeat the whole block for further kinds. Writing any replaces the default one below.",
        keys: &[
            key(
                "name",
                Kind::Name,
                "\"listing\"",
                "Names its folder in ready. Letters, digits, - and _.",
            ),
            key(
                "shape",
                Kind::Shape,
                "\"4:3\"",
                "Width to height, or \"as-is\" for the whole frame.",
            ),
            key(
                "short_side",
                Kind::Whole {
                    least: 16,
                    most: 16_384,
                },
                "2000",
                "Pixels aimed at on the shorter side. Nothing is ever enlarged.",
            ),
            key(
                "short_side_min",
                Kind::Whole {
                    least: 1,
                    most: 16_384,
                },
                "1500",
                "With fewer pixels than this the photo is held. Left out, it is 1500, or short_side where that is less.",
            ),
            key(
                "max_bytes",
                Kind::Bytes {
                    least: 1_000,
                    most: 1_000_000_000,
                },
                "\"1MB\"",
                "No output is ever heavier. Decimal units: 1MB is 1000000 bytes.",
            ),
            key(
                "quality",
                Kind::Table(QUALITY),
                "{ floor = 70, ceiling = 92, target = 88 }",
                "JPEG quality: the best between floor and ceiling that fits max_bytes. A SSIMULACRA2 score of target is enough.",
            ),
            key(
                "fill",
                Kind::Number {
                    least: 0.0,
                    most: 1.0,
                },
                "0.6",
                "How much of the picture the product's longer side fills, aimed at, 0 to 1.",
            ),
            key(
                "margin",
                Kind::Number {
                    least: 0.0,
                    most: 0.4,
                },
                "0.06",
                "Least air around the product, as a fraction of the picture's shorter side, 0 to 0.4.",
            ),
            key(
                "thumbnails",
                Kind::Ratios,
                "[\"1:1\", \"5:4\"]",
                "Shapes that shops cut from the middle of the picture. The product must still be whole in them.",
            ),
            key(
                "tight",
                Kind::Choice(&[
                    ("hold", "the photo is held"),
                    ("extend", "a plain backdrop is grown"),
                ]),
                "\"hold\"",
                "What to do when the product fits no crop of the shape.",
            ),
            key(
                "for",
                Kind::Globs,
                "[\"**\"]",
                "Which photos it applies to, as paths in the inbox: \"Mugs\" or \"Mugs/**\" is everything in that folder, \"**/*.png\" every PNG. Upper and lower case are alike.",
            ),
            key(
                "sharpen",
                Kind::Number {
                    least: 0.0,
                    most: 1.0,
                },
                "0.3",
                "Sharpening after the picture was made smaller, 0 (none) to 1.",
            ),
            key(
                "set",
                Kind::Choice(&[
                    ("free", "each photo by itself"),
                    ("even", "the same air through a listing"),
                ]),
                "\"free\"",
                "How a listing's photos relate.",
            ),
            key(
                "format",
                Kind::Choice(&[
                    ("jpeg", "right for almost every shop"),
                    ("webp", "lighter, for your own site"),
                    ("png", "without any loss, heavy"),
                ]),
                "\"jpeg\"",
                "The kind of file.",
            ),
            key(
                "backdrop",
                Kind::Colour,
                "\"#ffffff\"",
                "The colour laid under transparent pictures.",
            ),
            key(
                "strict",
                Kind::Switch,
                "false",
                "Hold a photo for what is remarked about it by itself: burnt out, lost in black, a colour cast, tilted. Otherwise that is only listed. What shows only beside the listing's other photos (unsharp, nearly the same) never holds one.",
            ),
            key(
                "wish",
                Kind::Whole {
                    least: 0,
                    most: 1000,
                },
                "0",
                "Photos a listing should have. 0 is no wish.",
            ),
        ],
    },
    Section {
        name: "output",
        many: false,
        says: "Written into every output. Nothing else is: no place, no camera, no owner.",
        keys: &[
            key("credit", Kind::Line { most: 200 }, "\"\"", "Whom to name."),
            key(
                "copyright",
                Kind::Line { most: 200 },
                "\"\"",
                "Whose picture it is.",
            ),
            key(
                "keep_time",
                Kind::Switch,
                "false",
                "Keep the time at which the photo was taken.",
            ),
        ],
    },
    Section {
        name: "notify",
        many: false,
        says: "Telling you.",
        keys: &[key(
            "desktop",
            Kind::Switch,
            "false",
            "A short message on the desktop after each batch.",
        )],
    },
    Section {
        name: "limits",
        many: false,
        says: "How much of this computer Stallhand may use. The defaults suit almost everyone.",
        keys: &[
            key(
                "workers",
                Kind::Whole {
                    least: 0,
                    most: 256,
                },
                "0",
                "Photos worked on at once. 0 is as many as the processor has cores.",
            ),
            key(
                "memory",
                Kind::Bytes {
                    least: 64 << 20,
                    most: 1 << 40,
                },
                "\"1GiB\"",
                "Memory for decoded photos, all together. Fewer are worked on at once when they would need more.",
            ),
            key(
                "photo_time",
                Kind::Span {
                    least: 1_000,
                    most: 3_600_000,
                },
                "\"60s\"",
                "The longest that one photo may take.",
            ),
            key(
                "photo_megapixels",
                Kind::Whole {
                    least: 1,
                    most: 1_000,
                },
                "300",
                "Photos of more megapixels are held unread.",
            ),
        ],
    },
];

/// The section of this name.
pub fn section(name: &str) -> Option<&'static Section> {
    SECTIONS.iter().find(|s| s.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_is_explained_in_whole_sentences_and_named_once_in_its_section() {
        for s in SECTIONS {
            assert!(s.says.ends_with('.'), "{}", s.name);
            let mut seen = std::collections::BTreeSet::new();
            for k in s.keys {
                assert!(seen.insert(k.name), "{} twice", k.name);
                assert!(k.says.ends_with('.'), "{}", k.name);
                assert!(k.default.is_empty() == (k.name == "state"), "{}", k.name);
            }
        }
    }
}
