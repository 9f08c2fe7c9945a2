//! What every reader is held to, whatever it is given.

use grisaille_base::Watch;
use grisaille_mesh::{Beside, ReadError, ReadSettings, read_beside};
use std::cell::LazyCell;

thread_local! {
    // One thread: a pool made anew for each file would take most of the time.
    static WATCH: LazyCell<Watch> = LazyCell::new(|| Watch::with_threads(1).expect("a thread"));
}

/// Parts a model from the materials beside it.
#[allow(dead_code, reason = "only one reader has files beside its own")]
pub const MARK: u8 = 0x1d;

/// Reads a file; panics where reading does, or where what it gives breaks its word.
#[allow(dead_code, reason = "one reader has files beside its own")]
pub fn judge(bytes: &[u8]) {
    judge_beside(bytes.to_vec(), Vec::new());
}

/// The same with files beside it.
pub fn judge_beside(bytes: Vec<u8>, beside: Vec<Beside>) {
    WATCH.with(|watch| match read_beside(bytes, beside, &ReadSettings::default(), watch) {
        Ok((mesh, findings)) => {
            assert!(mesh.positions().iter().all(|p| p.iter().all(|x| x.is_finite())));
            assert!(mesh.faces().is_sorted());
            assert!(mesh.faces().iter().all(|[a, b, c]| a < b && a < c && b != c));
            assert!(mesh.faces().iter().flatten().all(|v| (*v as usize) < mesh.positions().len()));
            assert!(mesh.area_mm2().is_finite() && mesh.volume_mm3().is_finite());
            assert!(findings.iter().all(|f| f.count > 0 && !f.hint.is_empty()));
        }
        Err(e) => {
            assert!(!matches!(e, ReadError::Stop(_) | ReadError::Setting(_)));
            assert_eq!(e.to_string().lines().count(), 1);
        }
    });
}
