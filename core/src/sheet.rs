//! What a person reads and works from: the text sheet, and pictures as SVG.

mod bed;
mod canvas;
mod estimate;
mod estimate_page;
mod estimate_picture;
mod front;
mod heat;
mod html;
mod job_picture;
mod lines;
mod page;
mod picture;
mod places;
mod readings;
mod room;
mod slates;
mod stages;
mod text;
mod tradeoff;

pub use front::{kit_front_picture, kit_front_picture_narrow};
pub use picture::{Picture, PictureLimit, PicturePoint};
pub use readings::{survey_picture, survey_picture_narrow};
pub use room::{room_picture, room_picture_narrow};
pub use tradeoff::{TradeoffMark, tradeoff_picture, tradeoff_picture_narrow};
