//! OBJ: a triangle stands before what is given, so that it is taken for one.
#![no_main]

mod judge;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    judge::judge(&[b"v 0 0 0\nv 9 0 0\nv 0 9 1\nf 1 2 3\n", bytes].concat());
});
