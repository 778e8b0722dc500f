//! What the tests share.

pub mod browser;
pub mod brute_force;
pub mod cost;
pub mod moody;
pub mod random;
pub mod schema;
pub mod slow;
pub mod visits;
