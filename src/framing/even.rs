//! The same air through a listing: photos that show the product at one scale are given one fill. Owns which
//! photos belong together and which fill they can all have; refuses to look at pixels and to place crops.

/// Photos whose product takes shares of the frame that differ by less than this factor are of one scale.
/// Common practice, no source.
const SAME_SCALE: f64 = 1.25;
/// Fills that differ by less than this factor are the same to the eye. Common practice, no source.
const NEAR: f64 = 1.01;

/// What `decide` found possible for one photo and profile. A fill is the product's longer side relative to
/// the crop's, 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// The product's longer side relative to the frame's.
    pub scale: f64,
    /// Fill of the loosest crop that keeps every higher wish as well as the best one does.
    pub least: f64,
    /// Fill of the best crop.
    pub own: f64,
    /// Fill of the tightest one.
    pub most: f64,
}

/// The air of one photo within its listing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Air {
    /// The fill it has in common with others.
    Common(f64),
    /// The fill that it has, the first of its scale; later ones take it.
    First(f64),
    /// The fill that it has: the others' it cannot have.
    Own(f64),
}

impl Air {
    pub fn fill(self) -> f64 {
        match self {
            Self::Common(f) | Self::First(f) | Self::Own(f) => f,
        }
    }
}

/// One air for each photo of `spans`. `before`: scale and air of photos that the listing already has; theirs
/// stands. `aimed`: the profile's fill. A photo that cannot follow changes nothing for the others.
pub fn even(spans: &[Span], before: &[(f64, Air)], aimed: f64) -> Vec<Air> {
    let mut out: Vec<Air> = spans.iter().map(|s| Air::Own(s.own)).collect();
    let mut new = Vec::new();
    for (i, s) in spans.iter().enumerate() {
        let apart = |scale: f64| (scale / s.scale).ln().abs();
        let of_scale = before.iter().filter(|b| apart(b.0) < SAME_SCALE.ln());
        // One that the others could not follow is followed last.
        let order = |b: &&(f64, Air)| (matches!(b.1, Air::Own(_)), apart(b.0));
        let nearest = of_scale
            .clone()
            .filter(|b| reaches(s, b.1.fill()))
            .min_by(|a, b| {
                let (a, b) = (order(a), order(b));
                a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
            });
        match nearest {
            Some((_, air)) => out[i] = Air::Common(air.fill()),
            None if of_scale.count() == 0 => new.push(i),
            None => {}
        }
    }
    new.sort_by(|a, b| spans[*a].scale.total_cmp(&spans[*b].scale));
    let mut rest = new.as_slice();
    while let Some(first) = rest.first() {
        let bound = spans[*first].scale * SAME_SCALE;
        let n = rest.iter().take_while(|i| spans[**i].scale < bound).count();
        let (group, others) = rest.split_at(n);
        rest = others;
        if let [alone] = group {
            out[*alone] = Air::First(spans[*alone].own);
        } else if let Some(fill) = common(group.iter().map(|i| &spans[*i]), aimed) {
            let able = group.iter().filter(|i| reaches(&spans[**i], fill));
            able.for_each(|i| out[*i] = Air::Common(fill));
        }
    }
    out
}

fn reaches(s: &Span, fill: f64) -> bool {
    s.least <= fill * NEAR && fill <= s.most * NEAR
}

/// The fill that most of them can have, of those the one nearest to what is aimed at; `None` where no two can
/// have the same. The number changes only at the ends of spans, so they and the aim are all there is to try.
fn common<'a>(group: impl Iterator<Item = &'a Span> + Clone, aimed: f64) -> Option<f64> {
    let able = |fill: f64| group.clone().filter(|s| reaches(s, fill)).count();
    let away = |fill: &f64| (fill / aimed).ln().abs();
    let ends = group.clone().flat_map(|s| [s.least, s.most]);
    let best = ends
        .chain([aimed])
        .max_by(|a, b| able(*a).cmp(&able(*b)).then(away(b).total_cmp(&away(a))))?;
    (able(best) >= 2).then_some(best)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn span(scale: f64, least: f64, own: f64, most: f64) -> Span {
        Span {
            scale,
            least,
            own,
            most,
        }
    }

    #[test]
    fn photos_of_one_scale_get_the_fill_nearest_to_the_wish_that_all_can_have() {
        let far = span(0.30, 0.3, 0.45, 0.45); // no tighter, for want of pixels
        let near = span(0.36, 0.36, 0.6, 0.8);
        let third = span(0.33, 0.33, 0.6, 0.8);
        assert_eq!(even(&[far, near, third], &[], 0.6), [Air::Common(0.45); 3]);
        assert_eq!(even(&[third, near], &[], 0.6), [Air::Common(0.6); 2]);
    }

    #[test]
    fn a_photo_that_cannot_follow_keeps_its_own_and_spoils_nothing() {
        let (a, b) = (span(0.4, 0.4, 0.6, 0.8), span(0.42, 0.42, 0.6, 0.8));
        let close = span(0.45, 0.85, 0.86, 0.9);
        assert_eq!(
            even(&[a, close, b], &[], 0.6),
            [Air::Common(0.6), Air::Own(0.86), Air::Common(0.6)]
        );
        assert_eq!(even(&[a, close], &[], 0.6), [Air::Own(0.6), Air::Own(0.86)]);
        assert!(even(&[], &[], 0.6).is_empty());
    }

    #[test]
    fn a_close_up_is_of_another_scale() {
        let (whole, detail) = (span(0.3, 0.3, 0.6, 0.8), span(0.7, 0.7, 0.75, 0.8));
        assert_eq!(
            even(&[whole, detail], &[], 0.6),
            [Air::First(0.6), Air::First(0.75)]
        );
    }

    #[test]
    fn a_late_photo_takes_the_air_that_is_there_however_it_came_about() {
        let late = span(0.34, 0.34, 0.6, 0.8);
        let before = [
            (0.34, Air::Own(0.7)),
            (0.30, Air::First(0.5)),
            (0.9, Air::Common(0.9)),
        ];
        assert_eq!(even(&[late], &before, 0.6), [Air::Common(0.5)]);
        let tight = span(0.34, 0.55, 0.6, 0.8);
        assert_eq!(even(&[tight], &before, 0.6), [Air::Common(0.7)]);
        let tighter = span(0.34, 0.75, 0.75, 0.8);
        assert_eq!(even(&[tighter], &before, 0.6), [Air::Own(0.75)]);
    }

    #[test]
    fn what_is_decided_for_a_part_first_is_what_was_decided_for_the_whole() {
        let all = [
            span(0.30, 0.3, 0.45, 0.45),
            span(0.36, 0.36, 0.6, 0.8),
            span(0.33, 0.9, 0.9, 0.9),
            span(0.35, 0.2, 0.6, 0.7),
        ];
        let together = even(&all, &[], 0.6);
        for n in 0..all.len() {
            let before: Vec<(f64, Air)> = (0..=n).map(|i| (all[i].scale, together[i])).collect();
            let after = even(&all[n + 1..], &before, 0.6);
            assert_eq!(after, together[n + 1..]);
        }
    }
}
