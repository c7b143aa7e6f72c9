#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| couplet_fuzz::readers::letter(data));
