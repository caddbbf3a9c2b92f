//! What a drawing is for, and so what it shows.

use job::{Surface, SurfaceKind};

/// What a drawing is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// To build by.
    Plan,
    /// To show those who mark their services where it will be dug.
    Locate,
    /// To mark the ground by.
    Staking,
    /// To write on what was built.
    AsBuilt,
}

impl Purpose {
    /// Whether a surface is filled with its pattern: what people find their way by on a locate request
    /// and when they mark the ground, nothing where one wants to write.
    pub fn fills(self, surface: &Surface) -> bool {
        match self {
            Self::Plan => true,
            Self::Locate | Self::Staking => {
                surface.kind.is_paved() || surface.kind == SurfaceKind::Gravel
            }
            Self::AsBuilt => false,
        }
    }

    /// Whether slopes, spot elevations, decisions and gaps are drawn.
    pub fn shows_ground(self) -> bool {
        self == Self::Plan
    }

    /// Whether source, valves, heads and the like are drawn.
    pub fn shows_components(self) -> bool {
        self != Self::Locate
    }

    /// Whether components are named.
    pub fn names_components(self) -> bool {
        matches!(self, Self::Plan | Self::AsBuilt)
    }

    /// Whether trenches are drawn by their methods.
    pub fn shows_methods(self) -> bool {
        self == Self::Plan
    }
}
