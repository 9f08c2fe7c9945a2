//! 3MF: an archive as it is, or else the text of its model, since no change by
//! chance keeps an archive's checksums.
#![no_main]
#![expect(dead_code, reason = "the seeds of the other kinds are not needed here")]

mod judge;
#[path = "../../crates/grisaille-mesh/tests/mutation/seeds.rs"]
mod seeds;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    match bytes.starts_with(b"PK") {
        true => judge::judge(bytes),
        false => judge::judge(&seeds::stored(bytes)),
    }
});
