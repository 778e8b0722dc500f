//! C ABI of truebed. The conventions that every call keeps stand at the top of
//! `include/truebed.h`, which is made from these files.

#![allow(non_camel_case_types, reason = "the types are named as the header names them")]
#![allow(clippy::missing_safety_doc, reason = "the header's conventions say what a caller owes")]

pub mod bed;
pub mod bed_surface;
pub mod estimate;
pub mod floor;
pub mod former;
pub mod heights;
pub mod job;
pub mod jobs;
pub mod kit_front;
pub mod length;
pub mod lifting;
pub mod limits;
pub mod next;
pub mod picture;
pub mod plan;
pub mod plane;
pub mod plans;
mod pointer;
pub mod preset;
pub mod problem;
mod problems;
pub mod risks;
pub mod rule;
pub mod shortfall;
pub mod site;
pub mod status;
pub mod stream;
pub mod survey;
pub mod text;
pub mod verdict;
pub mod version;
