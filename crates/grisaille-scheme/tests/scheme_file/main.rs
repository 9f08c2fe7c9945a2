//! Scheme files from outside: what is written is read back, what a painter wrote
//! by hand stays, what cannot be read is told, and the schema says the same.

mod document;
mod explained;
mod kept;
mod mutated;
mod rich;
mod schema;
