//! What the numbers of a bench may be. A caller that reads them in checks against the same table.

use crate::bounds::Bounds;

/// Length of a roll as it goes on a reel.
pub const FILM_MM: Bounds = Bounds::new("a roll's length", "mm", 50.0, 10_000.0);
/// How far a roll's time may be from the one it wants.
pub const TOLERANCE_PERCENT: Bounds = Bounds::new("a tolerance of time", "%", 0.0, 30.0);
/// Parts of water to one part of stock.
pub const WATER_PARTS: Bounds = Bounds::new("the parts of water", "parts", 0.0, 1000.0);
/// Least stock developer for 80 square inches of film [D12].
pub const LEAST_STOCK_ML: Bounds = Bounds::new("the least stock developer", "ml", 0.0, 2000.0);
/// Working solution in a tank.
pub const TANK_ML: Bounds = Bounds::new("a tank's volume", "ml", 10.0, 20_000.0);
/// Working solution that a tank takes beside that of its reels.
pub const BASE_ML: Bounds = Bounds::new("a tank's volume without reels", "ml", 0.0, 20_000.0);
/// Reels in one tank.
pub const TANK_REELS: Bounds = Bounds::new("a tank's reels", "reels", 1.0, 40.0);
/// Reels of one type at hand.
pub const REELS: Bounds = Bounds::new("the reels of a type", "reels", 0.0, 200.0);
/// Free groove between two rolls on one reel.
pub const BETWEEN_MM: Bounds = Bounds::new("the gap between two rolls", "mm", 0.0, 500.0);

/// Most rolls in one question.
pub const MAX_ROLLS: usize = 200;
/// Most tanks, types of reel, and developers in one question.
pub const MAX_THINGS: usize = 40;
/// Longest id or word.
pub const MAX_NAME: usize = 200;
