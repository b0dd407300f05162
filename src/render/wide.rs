//! Runs inner loops with the widest vectors that the processor has. Owns the question what it has;
//! refuses to know what is computed.

/// `a * b + c`, rounded once.
pub trait Fused {
    fn fused(a: f32, b: f32, c: f32) -> f32;
}

/// Any processor of its kind. On x86 the one instruction is not everywhere, and the library's
/// stand-in is slow: this rounds twice in about one case of a billion.
pub struct Plain;
impl Fused for Plain {
    #[inline(always)]
    fn fused(a: f32, b: f32, c: f32) -> f32 {
        if cfg!(target_arch = "aarch64") {
            a.mul_add(b, c)
        } else {
            (f64::from(a) * f64::from(b) + f64::from(c)) as f32
        }
    }
}

/// A processor that is known to have the instruction.
pub struct Wide;
impl Fused for Wide {
    #[inline(always)]
    fn fused(a: f32, b: f32, c: f32) -> f32 {
        a.mul_add(b, c)
    }
}

/// Makes `fn name(arguments)` of a generic, always inlined `body::<F: Fused>(arguments)`: compiled
/// twice, and run in the way that the processor allows. Nothing is rounded otherwise between the
/// two but what `body` leaves to `F`.
macro_rules! widest {
    ($(#[$doc:meta])* $vis:vis fn $name:ident($($arg:ident: $type:ty),* $(,)?) = $body:path) => {
        $(#[$doc])*
        $vis fn $name($($arg: $type),*) {
            use $body as body;
            #[cfg(target_arch = "x86_64")]
            {
                #[target_feature(enable = "avx2,fma")]
                fn wide($($arg: $type),*) {
                    body::<$crate::render::wide::Wide>($($arg),*)
                }
                if is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma") {
                    // SAFETY: the processor has just been asked for both.
                    return unsafe { wide($($arg),*) };
                }
            }
            body::<$crate::render::wide::Plain>($($arg),*)
        }
    };
}
pub(crate) use widest;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_stand_in_rounds_as_the_instruction_does() {
        let mut n = 12_345u32;
        let mut next = || {
            n = n.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (n >> 8) as f32 / (1u32 << 23) as f32 - 1.0
        };
        for _ in 0..100_000 {
            let (a, b, c) = (next(), next(), next());
            let (plain, wide) = (Plain::fused(a, b, c), Wide::fused(a, b, c));
            assert!(plain.to_bits().abs_diff(wide.to_bits()) <= 1, "{a} {b} {c}");
        }
    }
}
