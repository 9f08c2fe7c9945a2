//! PLY: what does not begin as one does is given its beginning.
#![no_main]

mod judge;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    match bytes.starts_with(b"ply") {
        true => judge::judge(bytes),
        false => judge::judge(&[b"ply\n", bytes].concat()),
    }
});
