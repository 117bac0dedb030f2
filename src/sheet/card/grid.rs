//! The grid of the dose card, in millimetres from the block's left edge: columns and sizes.
//!
//! Does not: hold anything that only one part of the card needs.

use crate::sheet::page::BLOCK_WIDTH;

/// Row names.
pub const LABEL: (f32, f32) = (2.0, 17.4);
/// What is acted on, beside the drawing.
pub const ACTION: (f32, f32) = (18.0, 88.0);
/// What is acted on, beside the barrel alone.
pub const BROAD: (f32, f32) = (18.0, 113.4);
/// The top row, beside the needle or the tip.
pub const TOP: (f32, f32) = (18.0, 115.9);
/// What is acted on, where nothing is drawn.
pub const OPEN: (f32, f32) = (18.0, 130.0);
/// The check column.
pub const CHECK: (f32, f32) = (136.0, 192.0);
/// The rule before the check column.
pub const CHECK_RULE: f32 = 133.6;
/// Text across the whole block.
pub const FULL: (f32, f32) = (2.0, 192.0);
/// The edges of the block.
pub const EDGES: (f32, f32) = (0.0, BLOCK_WIDTH);

/// Thickness of the edge that sets an alarm apart.
pub const HEAVY: f32 = 1.1;
/// Thickness of ordinary rules; thinner ones vanish in a coarse copy.
pub const FINE: f32 = 0.3;

/// Points: what is acted on is never smaller.
pub const ACTED_ON: f32 = 11.0;
/// Points: row names.
pub const ROW_NAME: f32 = 8.0;
/// Points: what a second person checks.
pub const CHECKED: f32 = 9.0;

/// Distance between two panels.
pub const GAP: f32 = 2.6;
