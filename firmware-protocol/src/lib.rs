#![no_std]
//! Wire.
