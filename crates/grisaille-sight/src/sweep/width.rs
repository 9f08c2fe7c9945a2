//! The widths of vectors that the sweep is compiled for.

/// A set of vector instructions. The answers are the same bits in all of them,
/// so the choice is the machine's; naming one is for the test that says so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Width {
    /// What every processor of the target has: 128 bits on x86-64 and AArch64.
    Plain,
    /// AVX2, 256 bits (x86-64-v3).
    Avx2,
    /// AVX-512, 512 bits (x86-64-v4).
    Avx512,
}

impl Width {
    /// All of them, narrowest first.
    pub const ALL: [Self; 3] = [Self::Plain, Self::Avx2, Self::Avx512];

    /// `None` where this machine has no such instructions.
    pub(super) fn arch(self) -> Option<pulp::Arch> {
        match self {
            Self::Plain => Some(pulp::Arch::Scalar),
            #[cfg(any(target_arch = "x86", target_arch = "x86_64"))]
            Self::Avx2 => pulp::x86::V3::try_new().map(pulp::Arch::V3),
            #[cfg(any(target_arch = "x86", target_arch = "x86_64"))]
            Self::Avx512 => pulp::x86::V4::try_new().map(pulp::Arch::V4),
            #[cfg(not(any(target_arch = "x86", target_arch = "x86_64")))]
            Self::Avx2 | Self::Avx512 => None,
        }
    }
}
