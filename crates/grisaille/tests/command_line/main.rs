//! The program as a painter runs it: results, exit codes, and what is left
//! behind when something goes wrong. Each test works in a folder of its own.

mod begun;
mod bench;
mod colour;
mod form;
mod materials;
mod painted;
mod plans;
mod printed;
mod refused;
mod sides;
mod written;
