//! STL, binary and text: what is neither is told by its bytes, too.
#![no_main]

mod judge;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| judge::judge(bytes));
