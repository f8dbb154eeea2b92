//! Textures of the faces: grooves, pads, dimples, waves, tilt, taper.

use super::RingRole;

/// A texture of one face. Depths count into the face: the film is thicker there by as much.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Texture {
    /// The ring that carries it, and with which it turns or stands.
    pub on: RingRole,
    /// What it is.
    pub form: TextureForm,
}

/// Form of a texture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TextureForm {
    /// Grooves between logarithmic spirals.
    SpiralGrooves {
        /// Number, radii, depth and width.
        grooves: Grooves,
        /// Angle between groove and circumference, rad.
        angle_rad: f64,
        /// Whether they pump outward when the shaft turns in the positive sense.
        pumps_outward: bool,
    },
    /// Grooves between two radii and two rays.
    RadialGrooves(Grooves),
    /// A stem along the radius with a bar along the circumference at one end.
    TGrooves {
        /// Number, radii, depth and width of the bar.
        grooves: Grooves,
        /// Share of the pitch that the stem takes.
        stem_width_ratio: f64,
        /// Radius at which bar and stem meet, m.
        bar_radius_m: f64,
        /// Whether the bar lies inside of the stem.
        bar_inside: bool,
    },
    /// Shallow recesses along the circumference.
    Pads(Grooves),
    /// Round dimples in rows along the circumference.
    Dimples {
        /// In each row.
        count: u32,
        /// Rows, evenly spaced between the radii.
        rows: u32,
        /// Radius of one dimple, m.
        radius_m: f64,
        /// Greatest depth, m.
        depth_m: f64,
        /// Form of one dimple.
        shape: DimpleShape,
        /// Inner and outer radius of the field of dimples, m.
        radii_m: [f64; 2],
    },
    /// `amplitude cos(count theta)`.
    Waves {
        /// Waves per turn.
        count: u32,
        /// Amplitude, half of peak to valley, m.
        amplitude_m: f64,
    },
    /// The face leans against the shaft: `angle r cos(theta)`.
    Tilt {
        /// Angle, rad.
        angle_rad: f64,
    },
    /// A cone that falls away from the other face toward the sealed side; the same at every angle.
    Taper {
        /// Depth at its deep end, m.
        depth_m: f64,
        /// Radii between which it falls, m.
        radii_m: [f64; 2],
        /// Whether the deep end is the outer one.
        deep_outside: bool,
    },
}

/// What grooves of every kind have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grooves {
    /// Number round the circumference.
    pub count: u32,
    /// Depth, m.
    pub depth_m: f64,
    /// Inner and outer radius, m.
    pub radii_m: [f64; 2],
    /// Share of the pitch that a groove takes.
    pub width_ratio: f64,
}

/// Form of a dimple.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DimpleShape {
    /// Part of a sphere, deepest in the middle.
    SphericalCap,
    /// Flat bottom and steep walls.
    Cylinder,
}

impl TextureForm {
    /// In words.
    pub fn words(&self) -> &'static str {
        match self {
            Self::SpiralGrooves { .. } => "spiral grooves",
            Self::RadialGrooves(_) => "radial grooves",
            Self::TGrooves { .. } => "T grooves",
            Self::Pads(_) => "pads",
            Self::Dimples { .. } => "dimples",
            Self::Waves { .. } => "waves",
            Self::Tilt { .. } => "tilt",
            Self::Taper { .. } => "taper",
        }
    }

    /// Whether it is the same at every angle.
    pub fn is_axisymmetric(&self) -> bool {
        matches!(self, Self::Taper { .. })
    }

    /// Depth of a taper at a radius, m; nothing for other forms.
    pub fn taper_m(&self, radius_m: f64) -> f64 {
        let Self::Taper { depth_m, radii_m: [inner, outer], deep_outside } = *self else { return 0.0 };
        let share = ((radius_m - inner) / (outer - inner)).clamp(0.0, 1.0);
        depth_m * if deep_outside { share } else { 1.0 - share }
    }

    /// Equal sectors of the ring.
    pub fn count(&self) -> Option<u32> {
        match self {
            Self::SpiralGrooves { grooves, .. } | Self::RadialGrooves(grooves) | Self::TGrooves { grooves, .. } | Self::Pads(grooves) => {
                Some(grooves.count)
            }
            Self::Dimples { count, .. } | Self::Waves { count, .. } => Some(*count),
            Self::Tilt { .. } => Some(1),
            Self::Taper { .. } => None,
        }
    }

    /// Radii between which the face is cut, m; none where it is only out of flat.
    pub fn cut_radii_m(&self) -> Option<[f64; 2]> {
        match self {
            Self::SpiralGrooves { grooves, .. } | Self::RadialGrooves(grooves) | Self::TGrooves { grooves, .. } | Self::Pads(grooves) => {
                Some(grooves.radii_m)
            }
            Self::Dimples { radii_m, .. } => Some(*radii_m),
            Self::Waves { .. } | Self::Tilt { .. } | Self::Taper { .. } => None,
        }
    }
}

/// Textures that vary round the circumference; the film of one is two-dimensional.
pub fn is_two_dimensional(textures: &[Texture]) -> bool {
    textures.iter().any(|texture| !texture.form.is_axisymmetric())
}
