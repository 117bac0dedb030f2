//! Reads the arguments and the clock once, and hands both to the library.
fn main() {}
