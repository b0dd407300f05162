//! Every reason Stallhand can give, as a stable code with its meaning and what she can do.
//! Owns the words; refuses to know when a reason applies.

use std::fmt;

/// What becomes of a photo under one profile, from best to worst.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// Delivered, nothing to look at.
    Deliver,
    /// Delivered, and listed for her eye.
    Glance,
    /// Not delivered: it needs her.
    Hold,
}

impl Verdict {
    pub fn code(self) -> &'static str {
        match self {
            Self::Deliver => "deliver",
            Self::Glance => "glance",
            Self::Hold => "hold",
        }
    }
    pub fn from_code(code: &str) -> Option<Self> {
        [Self::Deliver, Self::Glance, Self::Hold]
            .into_iter()
            .find(|v| v.code() == code)
    }
}

macro_rules! reasons {
    ($($name:ident $code:literal $meaning:literal $remedy:literal)*) => {
        /// A stable reason; the code is kebab-case and never changes its meaning.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Reason { $(#[doc = $meaning] $name),* }
        impl Reason {
            /// All reasons, in the order in which the README lists them.
            pub const ALL: &'static [Reason] = &[$(Reason::$name),*];
            pub fn code(self) -> &'static str { match self { $(Self::$name => $code),* } }
            /// One plain sentence without a full stop.
            pub fn meaning(self) -> &'static str { match self { $(Self::$name => $meaning),* } }
            /// What she can do about it, without a full stop.
            pub fn remedy(self) -> &'static str { match self { $(Self::$name => $remedy),* } }
        }
    };
}

reasons! {
    // framing
    NoSubject "no-subject" "no product was found, so the largest centred crop was taken" "look at the output; draw the crop yourself in a correction if it is wrong"
    Unsure "unsure" "the product was found, but not surely, so a looser crop was taken" "look at the output; correct the crop if it is wrong"
    LittleAir "little-air" "there is less air around the product than the profile asks for" "photograph it from a little farther away next time"
    FillsFrame "fills-frame" "the product reaches the edge of the photo, so the largest centred crop was taken" "fine for a detail shot; otherwise photograph it from farther away"
    SurfaceEnd "surface-end" "the end of the surface or the room behind it could not be left out" "move the product farther from the edge of the board, or photograph closer"
    OffCentre "off-centre" "the product could not be centred" "leave more room around it on the tight side"
    ThumbnailCuts "thumbnail-cuts" "a shop thumbnail cut from this picture would lose part of the product" "photograph it from farther away, or use another photo as the cover"
    SmallInFrame "small-in-frame" "the product fills less of the picture than the profile asks for, to keep enough pixels" "photograph it from closer"
    DoesNotFit "does-not-fit" "no crop of this shape holds the whole product" "photograph it from farther away, turn the camera, set tight = \"extend\", or accept a crop in a correction"
    Extended "extended" "the backdrop was grown to make room for the product" "look at the border of the output"
    CannotExtend "cannot-extend" "the backdrop is not plain enough to be grown" "photograph it from farther away, turn the camera, or accept a crop in a correction"
    EvenAir "even-air" "it has the same air around the product as other photos of its listing" "nothing"
    OwnAir "own-air" "it cannot have the air of its listing's other photos, so it keeps its own" "photograph it from the same distance as the others, with room around it"
    Corrected "corrected" "your correction was used" "nothing"
    // pixels and weight
    TooFewPixels "too-few-pixels" "the crop has fewer pixels than the profile's least short side" "use the full-size photo from the camera, go closer, or accept it in a correction"
    TooHeavy "too-heavy" "even at the lowest quality and size the file is over the weight limit" "raise max_bytes or lower quality.floor in the profile"
    SmallOutput "small-output" "the output has fewer pixels than aimed at, but enough" "fine as it is; photograph it from closer for more pixels"
    // decoding
    Undecodable "undecodable" "the file is damaged or incomplete" "copy it from the card again"
    NotAPhoto "not-a-photo" "the file is no kind of photo that Stallhand reads" "export it as a JPEG"
    Unsupported "unsupported" "this kind of photo cannot be read" "export it as a JPEG"
    Animated "animated" "the file holds a moving picture" "export one frame as a JPEG"
    TooLarge "too-large" "the photo has more pixels than the limit" "export it smaller"
    RawAlone "raw-alone" "a raw file came without its JPEG and holds no preview that is large enough" "export a JPEG from it"
    RawPreview "raw-preview" "the raw file's own preview was used" "export a JPEG from it if you want your own development"
    NoProfile "no-profile" "no profile applies to this photo" "check the `for` lines of the profiles in the configuration"
    TookTooLong "took-too-long" "reading the photo took too long" "open it and export it again as a JPEG"
    Broke "broke-its-worker" "reading the photo ended its worker process more than once" "open it and export it again as a JPEG"
    NotClean "not-clean" "the finished file held something that does not belong in it, so it was not published" "tell the makers of Stallhand; the photo itself is as it was"
    ProfileIgnored "colour-profile-ignored" "the photo's colour profile is damaged, so its colours were taken as sRGB" "look at the colours"
    PlainCmyk "plain-cmyk" "the photo is in printing colours without a profile, so the plain formula was used" "export it as an sRGB JPEG"
    EndMissing "end-missing" "the file's end mark is missing, but every part of the picture was there" "nothing"
    // careful eye
    Unsharp "unsharp" "the product is less sharp than in the listing's other photos" "take it again, or use another one"
    BurntOut "burnt-out" "part of the product is burnt out to white" "expose a little less"
    Blocked "blocked-up" "part of the product is lost in black" "expose a little more, or lighten the shadows with a white card"
    ColourCast "colour-cast" "the backdrop has a strong colour cast" "set the camera's white balance on a white card"
    NearTwin "near-twin" "another photo of this listing is nearly the same, and the better one: sharper, or with far more pixels" "keep the better one"
    Tilted "tilted" "the surface's edge is not level" "turn it in a correction, or level the camera"
    CoverShape "cover-not-landscape" "the first photo of the listing was taken upright, not landscape" "choose another first photo in listing.toml"
    CoverThumbnail "cover-thumbnail" "the first photo of the listing loses part of the product in a thumbnail" "choose another first photo in listing.toml"
    FewPhotos "few-photos" "the listing has fewer photos than the profile wishes for" "add some"
    // arrivals that are passed over
    SeenBefore "seen-before" "this very photo was already delivered in this listing" "nothing"
    RawTwin "raw-twin" "the JPEG or HEIC of the same name is used instead of this raw file" "nothing"
    TemporaryName "temporary-name" "the name is one of a file still being written" "rename it if it is a photo"
    HiddenName "hidden-name" "hidden files are passed over" "rename it if it is a photo"
    Link "link" "links are never followed" "put the photo itself into the inbox"
    SpecialFile "special-file" "this is no ordinary file" "nothing"
    Video "video" "videos are passed over" "nothing"
    Sidecar "sidecar" "this file belongs to a camera, phone or catalogue" "nothing"
    CloudOnly "cloud-only" "the file's content is not on this computer" "let the sync program download it"
    // corrections
    CorrectionRefused "correction-refused" "the correction could not be used" "see the note beside the photo, or ask `stallhand why` with the correction's name"
    CorrectionWaits "correction-waits" "no photo is here that the correction speaks of" "check its name, or put the photo into the inbox"
    Accepted "accepted" "delivered because your correction accepts it" "nothing"
}

impl Reason {
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|r| r.code() == code)
    }
}
impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// Why a photo cannot go on, with the facts in one plain sentence: held, journalled, never a crash.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    pub reason: Reason,
    /// One sentence in her words, lowercase, no full stop, with the figures.
    pub detail: String,
}

impl Refusal {
    pub fn new(reason: Reason, detail: impl Into<String>) -> Self {
        Self {
            reason,
            detail: detail.into(),
        }
    }
}
impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.detail, self.reason)
    }
}
impl std::error::Error for Refusal {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_kebab_case_and_unique() {
        let mut seen = std::collections::BTreeSet::new();
        for r in Reason::ALL {
            assert!(seen.insert(r.code()), "{r} twice");
            assert!(
                r.code()
                    .bytes()
                    .all(|b| b.is_ascii_lowercase() || b == b'-')
            );
            assert!(!r.meaning().ends_with('.') && !r.remedy().ends_with('.'));
            assert_eq!(Reason::from_code(r.code()), Some(*r));
        }
    }
}
