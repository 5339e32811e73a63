#![no_main]
//! See `inputs::sizes`.

#[path = "../inputs.rs"]
#[allow(dead_code, reason = "each target uses one of them")]
mod inputs;

libfuzzer_sys::fuzz_target!(|data: &[u8]| inputs::sizes(data));
