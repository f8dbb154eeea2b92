//! The one table of keys: kind of value, allowed range, meaning and default of each.
//!
//! Reading, error messages, the JSON Schema, settings by path and the printed key list all come from here.

use crate::units::{self, Dimension, STANDARD_ATMOSPHERE_PA};

/// One key of a table.
#[derive(Debug)]
pub struct Key {
    /// Name as written in the file.
    pub name: &'static str,
    /// What may stand there.
    pub kind: Kind,
    /// Whether the table is incomplete without it.
    pub required: bool,
    /// What it means, in one sentence.
    pub meaning: &'static str,
    /// What is taken when it is not given; empty when nothing is.
    pub default: &'static str,
}

/// What may stand at a key. Ranges are written as a user would write them.
#[derive(Debug)]
pub enum Kind {
    /// Version of the case format.
    Version,
    /// Free text, not empty.
    Text,
    /// One of these words.
    Word(&'static [&'static str]),
    /// `true` or `false`.
    Flag,
    /// A pure number in a range.
    Number(f64, f64),
    /// A whole number in a range.
    Count(i64, i64),
    /// A share: a number from 0 to 1 or text such as `12 %`.
    Share(f64, f64),
    /// A quantity with a unit.
    Quantity(Dimension, &'static str, &'static str),
    /// One of several kinds of quantity.
    Either(&'static [(Dimension, &'static str, &'static str)]),
    /// `Ra` or `Rq` and a length; the range is of Rq.
    Roughness(&'static str, &'static str),
    /// Light bands or a length.
    Flatness(&'static str, &'static str),
    /// Light bands or a length, `convex` or `concave`; the range is of the height.
    LappedForm(&'static str, &'static str),
    /// Two quantities, lower first.
    Span(Dimension, &'static str, &'static str),
    /// One quantity or two, lower first.
    OneOrSpan(Dimension, &'static str, &'static str),
    /// Four corners `[r, z]` around a piece.
    Corners(&'static str, &'static str),
    /// The word `auto` or another kind.
    AutoOr(&'static Kind),
    /// Another kind, or `{ value = ..., hand = true }` to put a hand value in place of a correlation.
    HandOr(&'static Kind),
    /// A table.
    Table(&'static [Key]),
    /// A list of tables.
    List(&'static [Key]),
    /// A list of tables, each found by its `name`.
    Named(&'static [Key]),
    /// Accepted for later computations; the model says that it is not used yet.
    Later(&'static str),
    /// Known, but stated elsewhere: what it is, and where it stands.
    Elsewhere(&'static str, &'static str),
}

const fn key(name: &'static str, kind: Kind, meaning: &'static str) -> Key {
    Key { name, kind, required: false, meaning, default: "" }
}

impl Key {
    const fn required(self) -> Self {
        Self { name: self.name, kind: self.kind, required: true, meaning: self.meaning, default: self.default }
    }

    const fn default(self, default: &'static str) -> Self {
        Self { name: self.name, kind: self.kind, required: self.required, meaning: self.meaning, default }
    }
}

use Dimension as D;
use Kind::{
    AutoOr, Corners, Count, Either, Elsewhere, Flag, Flatness, HandOr, LappedForm, Later, List, Named, Number, OneOrSpan, Quantity,
    Roughness, Share, Span, Table, Text, Version, Word,
};

const DIAMETER: Kind = Quantity(D::Length, "2 mm", "1.4 m");
const PRESSURE: Kind = Quantity(D::Pressure, "1 Pa(a)", "50 MPa(a)");
const TEMPERATURE: Kind = Quantity(D::Temperature, "-220 degC", "500 degC");
const RADII: Kind = Span(D::Length, "0.5 mm", "700 mm");
const SPRING_RATE: Kind = Quantity(D::SpringRate, "0 N/mm", "1000000 N/mm");
const DAMPING: Kind = Quantity(D::Damping, "0 N s/m", "100000000 N s/m");
const INERTIA: Kind = Quantity(D::Inertia, "1e-9 kg m2", "1000 kg m2");
const HEIGHTS: Kind = Span(D::Length, "0 mm", "1 m");

/// Keys at the top of the file.
pub const ROOT: &[Key] = &[
    key("halfmicron", Version, "version of the case format").required(),
    key("title", Text, "title of the case").default("untitled case"),
    key("machine", Table(MACHINE), "the machine around the seal"),
    key("fluid", Table(FLUID), "the sealed fluid"),
    key("gas", Table(GAS), "an ideal gas of constant properties, for hand checks, in place of [fluid]"),
    key("liquid", Table(LIQUID), "a liquid of constant properties, for hand checks, in place of [fluid]"),
    key("material", Named(MATERIAL), "materials of your own, one [[material]] each, for use by name in the rings"),
    key("duty", Named(DUTY), "operating points, one [[duty]] each").required(),
    key("seal", Table(SEAL), "arrangement and closing forces").required(),
    key("rotating_ring", Table(RING), "the ring that turns"),
    key("stationary_ring", Table(RING), "the ring that stands"),
    key("contact", Table(CONTACT), "contact and boundary friction of the pair"),
    key("gap", Table(GAP), "prescribed gap between rigid faces, for the film alone"),
    key("supply", Table(SUPPLY), "supply and housekeeping"),
    key("switches", Table(SWITCHES), "models switched off to reproduce a hand or published case"),
    key("limits", Table(LIMITS), "this user's acceptance limits"),
    key("texture", List(TEXTURE), "textures of the faces, one [[texture]] each; all that vary round the circumference on one ring"),
    key("tolerances", Later("the tolerance study"), "tolerances of the inputs"),
    key("study", Later("studies"), "what to vary"),
];

const MACHINE: &[Key] = &[
    key("kind", Text, "kind of machine in words, such as `centrifugal pump`"),
    key("shaft", Quantity(D::Length, "4 mm", "600 mm"), "shaft diameter"),
    key("face_runout", Quantity(D::Length, "0 mm", "5 mm"), "face run-out, total indicator reading at the seat"),
    key("end_play", Quantity(D::Length, "0 mm", "50 mm"), "axial end play of the shaft"),
    key(
        "ambient_pressure",
        Quantity(D::Pressure, "10 kPa(a)", "1 MPa(a)"),
        "absolute pressure of the surroundings, from which gauge pressures are counted",
    )
    .default("101 325 Pa(a), standard atmosphere"),
];

const FLUID: &[Key] = &[
    key("name", Text, "name of a fluid of the library, with its concentration where it has one"),
    key("custom", Table(CUSTOM), "a fluid described by the user"),
];

const POINT_VISCOSITY: Kind =
    Either(&[(D::DynamicViscosity, "1 uPa s", "100 Pa s"), (D::KinematicViscosity, "0.01 mm2/s", "100000 mm2/s")]);

const VISCOSITY_POINT: &[Key] = &[
    key("at", TEMPERATURE, "temperature of the value").required(),
    key("value", POINT_VISCOSITY, "dynamic or kinematic viscosity").required(),
];

const VAPOUR_POINT: &[Key] = &[
    key("at", TEMPERATURE, "temperature of the value").required(),
    key("value", Quantity(D::Pressure, "0.001 Pa(a)", "50 MPa(a)"), "vapour pressure").required(),
];

const CUSTOM: &[Key] = &[
    key("name", Text, "name to show").default("custom fluid"),
    key("density", Quantity(D::Density, "100 kg/m3", "5000 kg/m3"), "density at `density_at`").required(),
    key("density_at", TEMPERATURE, "temperature of the density").default("20 degC"),
    key("expansion", Quantity(D::Expansion, "0 1/K", "0.01 1/K"), "volume expansion").default("0.0007 1/K"),
    key("viscosity", List(VISCOSITY_POINT), "viscosity at two temperatures").required(),
    key("viscosity_law", Word(&["oil", "light liquid"]), "how viscosity runs between and beyond the two points")
        .default("oil (ASTM D341) where both points are above 2 mm2/s, light liquid (logarithm over 1/T) otherwise"),
    key("pressure_viscosity", Quantity(D::PerPressure, "0 1/GPa", "100 1/GPa"), "pressure coefficient of viscosity").default("0 1/GPa"),
    key("specific_heat", Quantity(D::SpecificHeat, "500 J/(kg K)", "15000 J/(kg K)"), "specific heat")
        .default("2000 J/(kg K) for an oil, 4200 J/(kg K) otherwise"),
    key("conductivity", Quantity(D::Conductivity, "0.02 W/(m K)", "10 W/(m K)"), "thermal conductivity")
        .default("0.12 W/(m K) for an oil, 0.6 W/(m K) otherwise"),
    key("vapour_pressure", List(VAPOUR_POINT), "vapour pressure at two temperatures").default("unknown: no margin to boiling is given"),
    key("bulk_modulus", Quantity(D::Stress, "10 MPa", "100 GPa"), "bulk modulus").default("incompressible"),
    key("range", Span(D::Temperature, "-220 degC", "500 degC"), "temperatures between which the values hold")
        .default("20 K beyond the two viscosities on each side"),
    key("freezing", TEMPERATURE, "freezing point").default("unknown"),
];

const GAS: &[Key] = &[
    key("name", Text, "name to show").default("ideal gas, constant properties"),
    key("gas_constant", Quantity(D::SpecificHeat, "50 J/(kg K)", "5000 J/(kg K)"), "specific gas constant; or give `molar_mass`"),
    key("molar_mass", Quantity(D::MolarMass, "1 g/mol", "400 g/mol"), "molar mass; or give `gas_constant`"),
    key("viscosity", Quantity(D::DynamicViscosity, "1 uPa s", "100 uPa s"), "dynamic viscosity").required(),
    key("specific_heat", Quantity(D::SpecificHeat, "200 J/(kg K)", "20000 J/(kg K)"), "specific heat at constant pressure")
        .default("3.5 times the gas constant"),
    key("conductivity", Quantity(D::Conductivity, "0.002 W/(m K)", "1 W/(m K)"), "thermal conductivity").default("0.026 W/(m K)"),
];

const LIQUID: &[Key] = &[
    key("name", Text, "name to show").default("liquid, constant properties"),
    key("density", Quantity(D::Density, "100 kg/m3", "5000 kg/m3"), "density").required(),
    key("viscosity", Quantity(D::DynamicViscosity, "10 uPa s", "100 Pa s"), "dynamic viscosity").required(),
    key("specific_heat", Quantity(D::SpecificHeat, "500 J/(kg K)", "15000 J/(kg K)"), "specific heat").default("4184 J/(kg K)"),
    key("conductivity", Quantity(D::Conductivity, "0.02 W/(m K)", "10 W/(m K)"), "thermal conductivity").default("0.6 W/(m K)"),
];

const STRENGTH: Kind = Quantity(D::Stress, "0.1 MPa", "20 GPa");

const MATERIAL: &[Key] = &[
    key("name", Text, "name by which the rings call it").required(),
    key("like", Text, "material of the library from which all that is not given comes")
        .default("none: the figures of physics must all be given"),
    key("density", Quantity(D::Density, "500 kg/m3", "25000 kg/m3"), "density"),
    key("youngs_modulus", Quantity(D::Stress, "1 MPa", "1200 GPa"), "modulus of elasticity"),
    key("poisson", Number(0.0, 0.4999), "Poisson ratio"),
    key("conductivity", Quantity(D::Conductivity, "0.01 W/(m K)", "2500 W/(m K)"), "thermal conductivity"),
    key("specific_heat", Quantity(D::SpecificHeat, "50 J/(kg K)", "5000 J/(kg K)"), "specific heat"),
    key("expansion", Quantity(D::Expansion, "0 1/K", "0.0005 1/K"), "linear expansion"),
    key("tension", STRENGTH, "tensile strength"),
    key("compression", STRENGTH, "compressive strength"),
    key("flexural", STRENGTH, "flexural strength"),
    key("yield", STRENGTH, "yield strength"),
    key("plastic_pressure", Quantity(D::Stress, "1 MPa", "50 GPa"), "plastic bearing pressure"),
    key("service", Span(D::Temperature, "-273 degC", "1500 degC"), "temperatures at which it serves"),
];

const DUTY: &[Key] = &[
    key("name", Text, "name of the operating point, different from every other").required(),
    key("fluid", Text, "fluid of this duty alone, as static tests have").default("the fluid of the case"),
    key("speed", Quantity(D::RotationalSpeed, "-120000 rpm", "120000 rpm"), "shaft speed, signed; 0 rpm at standstill").required(),
    key("pressure", PRESSURE, "pressure on the sealed side, (g) or (a)").required(),
    key("low_pressure", PRESSURE, "pressure on the other side, (g) or (a)").default("ambient"),
    key("temperature", TEMPERATURE, "temperature of the fluid around the rings; or give `flush_temperature`"),
    key("flush_temperature", TEMPERATURE, "temperature of the flush; the temperature around the rings is then computed"),
    key("hours_per_year", Number(0.0, 8784.0), "hours a year at this duty"),
    key("observed", Table(OBSERVED), "what was seen in service: compared with the result, never fitted"),
];

const OBSERVED: &[Key] = &[
    key("leakage", Quantity(D::VolumeFlow, "0 mL/h", "1000 L/h"), "volume leakage"),
    key("temperature", TEMPERATURE, "temperature read near the faces"),
    key("torque", Quantity(D::Torque, "0 N m", "10000 N m"), "torque"),
    key("worn_profile", Later("the comparison of worn profiles"), "depth of wear over the band"),
];

const SEAL: &[Key] = &[
    key("pressure_side", Word(&["outside", "inside"]), "side of the band on which the sealed pressure acts").required(),
    key("balance_diameter", DIAMETER, "diameter on which the sliding secondary seal slides; a film or a ring alone does without"),
    key("reverse_balance_diameter", DIAMETER, "the same when the pressure is reversed").default("the balance diameter"),
    key("spring_force", Quantity(D::Force, "0 N", "50 kN"), "spring force at working length; a film or a ring alone does without"),
    key("rotating_spring", Flag, "whether the springs, and so the floating ring, turn").default("the ring without a support floats"),
    key("spring_diameter", DIAMETER, "diameter of the circle on which the springs press")
        .default("mean diameter of the back face; the balance diameter for a metal bellows"),
    key("secondary_seal", Table(SECONDARY_SEAL), "the sliding secondary seal of the floating ring"),
    key("spring_rate", SPRING_RATE, "axial spring rate of all springs (or of the bellows) together, for `motion`")
        .default("spring force over 15 mm, over 5 mm for a metal bellows"),
    key("spring_damping", DAMPING, "axial damping of springs and drive, for `motion`").default("0 N s/m"),
    key("flush", Quantity(D::VolumeFlow, "0 L/min", "2000 L/min"), "flush flow"),
    key("heat_soak", Quantity(D::Power, "-100 kW", "100 kW"), "heat from hot surroundings into the chamber").default("0 W"),
];

const SECONDARY_SEAL: &[Key] = &[
    key("kind", Word(&["O-ring", "metal bellows", "other"]), "kind of secondary seal").default("O-ring"),
    key("material", Text, "material of the secondary seal").default("not stated"),
    key("friction", AutoOr(&HandOr(&Quantity(D::Force, "0 N", "20 kN"))), "friction force, or `auto` for the stated formula")
        .default("auto; none for a metal bellows"),
    key("section", Quantity(D::Length, "0.5 mm", "20 mm"), "diameter of the cross-section").default("by the balance diameter"),
    key("squeeze", Share(0.0, 0.5), "squeeze as a share of the section").default("12 %"),
    key("stiffness", SPRING_RATE, "axial stiffness that it adds while it does not slide, for `motion`")
        .default("an O-ring in shear by an estimate; none for other kinds"),
    key("damping", DAMPING, "axial damping that it adds, for `motion`").default("a loss factor of 0.2 on the stiffness, at shaft speed"),
];

const RING: &[Key] = &[
    key("material", Text, "material of every piece that names none of its own"),
    key("face", Table(FACE), "diameters of the running band, on the narrow ring"),
    key("section", List(PIECE), "pieces of the section; the first carries the face at z = 0"),
    key("parts", List(PART), "further pieces of other materials: carriers, bands, inserts"),
    key("roughness", Roughness("1 nm", "10 um"), "roughness of the face, Ra or Rq"),
    key("flatness", Flatness("0 um", "50 um"), "flatness tolerance, peak to valley; never part of the nominal gap").default("2 bands"),
    key(
        "lapped_form",
        LappedForm("0 um", "50 um"),
        "lapped form over the band: convex stands highest at the inner edge; or give `lapped_coning`",
    )
    .default("flat"),
    key(
        "lapped_coning",
        Quantity(D::Length, "-50 um", "50 um"),
        "lapped coning from edge to edge of the band, positive opens toward the sealed side; or give `lapped_form`",
    )
    .default("0 um"),
    key("support", Table(SUPPORT), "where a fixed ring is held"),
    key("secondary_seal", Table(POINT), "where the secondary seal touches the ring: it bounds the wetted surface")
        .default("floating: on the back, nearest the balance radius; fixed: on the back, at the edge of the support"),
    key("edges", List(EDGE), "conditions stated for named edges"),
    key("stress_free_temperature", TEMPERATURE, "temperature at which the ring is flat and free of stress").default("20 degC"),
    key("fillet", Quantity(D::Length, "0 mm", "20 mm"), "fillet radius at inner corners of the section"),
    key("mass", Quantity(D::Mass, "0.1 g", "1000 kg"), "mass of the floating ring with what moves with it, for `motion`")
        .default("by section and density"),
    key("tilt_inertia", INERTIA, "moment of inertia about a diameter, for `motion`").default("by section and density"),
    key("spin_inertia", INERTIA, "moment of inertia about the shaft, for `motion`").default("by section and density"),
    key("face_heat", Quantity(D::Power, "-100 kW", "100 kW"), "heat into the face, for the ring alone"),
    key("face_pressure", PRESSURE, "uniform pressure on the band, for the ring alone"),
];

const FACE: &[Key] = &[
    key("inner", DIAMETER, "inner diameter of the running band").required(),
    key("outer", DIAMETER, "outer diameter of the running band").required(),
];

const PIECE: &[Key] = &[
    key("r", RADII, "radii of a rectangle, inner first"),
    key("z", HEIGHTS, "axial range of a rectangle, face side first"),
    key("corners", Corners("700 mm", "1 m"), "four corners [r, z] in order around a trapezoid, in place of r and z"),
    key("material", Text, "material of this piece").default("material of the ring"),
];

const PART: &[Key] = &[
    key("material", Text, "material of this part").required(),
    key("r", RADII, "radii of a rectangle, inner first"),
    key("z", HEIGHTS, "axial range of a rectangle, face side first"),
    key("corners", Corners("700 mm", "1 m"), "four corners [r, z] in order around a trapezoid, in place of r and z"),
    key("fit", Table(FIT), "interference fit of this part on its inner neighbour"),
];

const FIT: &[Key] = &[
    key("r", Quantity(D::Length, "0.5 mm", "700 mm"), "radius of the fit").required(),
    key("interference", Quantity(D::Length, "0 mm", "2 mm"), "radial interference at `at`").required(),
    key("at", TEMPERATURE, "temperature of the stated interference").default("20 degC"),
];

const SUPPORT: &[Key] = &[
    key("kind", Word(&["circle", "annulus", "held face"]), "held on a circle, evenly over an annulus, or flat over an annulus")
        .default("circle for one radius, annulus for two"),
    key("z", Quantity(D::Length, "0 mm", "1 m"), "axial position").required(),
    key("r", OneOrSpan(D::Length, "0.5 mm", "700 mm"), "radius of the circle, or radii of the annulus").required(),
];

const POINT: &[Key] = &[
    key("r", Quantity(D::Length, "0.5 mm", "700 mm"), "radius").required(),
    key("z", Quantity(D::Length, "0 mm", "1 m"), "axial position").required(),
];

const EDGE: &[Key] = &[
    key("edge", Word(&["bore", "outside", "back", "face side"]), "edges by name; or give `r` and `z`"),
    key("r", RADII, "radii of a box; edges whose middle lies in it are meant"),
    key("z", HEIGHTS, "axial range of the box"),
    key("coefficient", HandOr(&Quantity(D::HeatTransfer, "0 W/(m2 K)", "1000000 W/(m2 K)")), "heat transfer coefficient; 0 insulates"),
    key("temperature", TEMPERATURE, "temperature of what wets the edge"),
    key("pressure", PRESSURE, "pressure on the edge, for the ring alone"),
    key("wetted_by", Word(&["sealed", "low side", "dry"]), "what wets the edge, against what geometry says"),
];

const CONTACT: &[Key] = &[
    key("eta_beta_sigma", Number(0.005, 0.5), "asperity density x tip radius x roughness").default("0.05"),
    key("sigma_over_beta", Number(1e-5, 0.1), "roughness over tip radius").default("0.001"),
    key("boundary_friction", HandOr(&Number(0.0, 2.0)), "friction coefficient of the asperity share")
        .default("twice the mixed coefficients of the pair"),
    key("plastic_pressure", Quantity(D::Stress, "1 MPa", "50 GPa"), "plastic bearing pressure of the softer face").default("by material"),
    key("wear", Quantity(D::PerPressure, "0 mm3/(N m)", "0.1 mm3/(N m)"), "specific wear on contact pressure").default("by pair"),
];

const GAP: &[Key] = &[
    key("face", Table(FACE), "diameters of the band, in a case without rings"),
    key("thickness", Quantity(D::Length, "0.01 um", "1 mm"), "gap at the inner edge of the band").required(),
    key("coning", Quantity(D::Length, "-1 mm", "1 mm"), "change of gap over the band, positive opens toward the sealed side")
        .default("0 um"),
    key("waves", List(WAVE), "waves around the face"),
    key("tilt", Quantity(D::Angle, "0 rad", "0.01 rad"), "angle of one face against the other").default("0 rad"),
    key("grooves", Elsewhere("grooves", "[[texture]]"), "grooves in a face"),
    key("dimples", Elsewhere("dimples", "[[texture]]"), "dimples in a face"),
];

const WAVE: &[Key] = &[
    key("count", Count(1, 1000), "waves per turn").required(),
    key("amplitude", Quantity(D::Length, "0 um", "1 mm"), "amplitude, half of peak to valley").required(),
];

const TEXTURE: &[Key] = &[
    key("on", Word(&["rotating", "stationary"]), "the ring that carries it").required(),
    key(
        "kind",
        Word(&["spiral grooves", "radial grooves", "T grooves", "pads", "dimples", "waves", "tilt", "taper"]),
        "what it is; pads are shallow recesses along the circumference, taper a cone that opens toward the sealed side",
    )
    .required(),
    key("count", Count(1, 2000), "number round the circumference; dimples in a row, waves in a turn"),
    key("depth", Quantity(D::Length, "0.01 um", "200 um"), "depth of grooves, pads, dimples (deepest), taper (deep end)"),
    key("inner", DIAMETER, "inner diameter of what is cut; of a taper the inner end")
        .default("the inner edge of the band, for dimples and taper"),
    key("outer", DIAMETER, "outer diameter of what is cut; of a taper the outer end")
        .default("the outer edge of the band, for dimples and taper"),
    key("width_ratio", Share(0.02, 0.98), "share of the pitch that a groove, pad or the bar of a T takes").default("0.5"),
    key("angle", Quantity(D::Angle, "0 deg", "89 deg"), "of spiral grooves against the circumference; of tilt the lean of the face"),
    key("sense", Word(&["inward", "outward"]), "where spiral grooves pump while the shaft turns in the positive sense")
        .default("away from the edge of the band at which they are open; inward where that does not tell"),
    key("stem_width_ratio", Share(0.02, 0.98), "share of the pitch that the stem of a T takes").default("a third of `width_ratio`"),
    key("bar", Quantity(D::Length, "0.05 mm", "200 mm"), "radial width of the bar of a T, at the end away from the open edge")
        .default("a third of the radial length"),
    key("radius", Quantity(D::Length, "5 um", "10 mm"), "radius of a dimple"),
    key("shape", Word(&["spherical cap", "cylinder"]), "form of a dimple").default("spherical cap"),
    key("rows", Count(1, 200), "rows of dimples between `inner` and `outer`").default("1"),
    key("amplitude", Quantity(D::Length, "0 um", "1 mm"), "of waves, half of peak to valley"),
];

const SUPPLY: &[Key] = &[
    key("arrangement", Word(&["single", "dual unpressurised", "dual pressurised", "tandem"]), "arrangement of seals").default("single"),
    key("quench", Word(&["none", "water", "steam", "nitrogen", "air"]), "quench on the low-pressure side").default("none"),
    key("solids", Share(0.0, 0.6), "solids in the product, share of volume"),
    key("clean_flush", Flag, "whether the flush is clean liquid from outside, which keeps solids from the faces").default("false"),
    key("barrier_pressure", Later("barrier checks"), "barrier pressure"),
    key("plans", Later("supply systems"), "piping plans"),
];

const SWITCHES: &[Key] = &[
    key("convective_inertia", Flag, "inertia of the radial flow and entry loss").default("true"),
    key("spin", Flag, "centrifugal inertia of the film").default("true"),
    key("flow_factor", Flag, "pressure flow factor of rough faces").default("true"),
    key("shear_factor", Flag, "shear factor of rough faces").default("true"),
    key("contact", Flag, "asperity contact").default("true"),
    key("heat", Flag, "heat; false holds film and faces at chamber temperature").default("true"),
    key("distortion", Flag, "distortion of the rings by pressure and heat").default("true"),
    key("momentum_factor", Number(0.5, 2.0), "momentum factor of the radial flow, 1 or 6/5").default("1"),
    key("entry_loss", Number(0.0, 5.0), "entry loss coefficient").default("0.5"),
    key("mixture_viscosity", Word(&["by mass fluidity", "by mass", "by volume"]), "viscosity of liquid and vapour together")
        .default("by mass fluidity"),
    key("flashing", Word(&["equilibrium", "frozen"]), "whether liquid below its boiling pressure turns into vapour within the film")
        .default("equilibrium"),
    key("slip", Word(&["kinetic", "first order", "none"]), "slip of gas at the faces").default("kinetic"),
    key("turbulence", Flag, "turbulent film coefficients above the laminar range").default("true"),
    key("cavitation_pressure", PRESSURE, "pressure at which the liquid ruptures").default("vapour pressure at film temperature"),
];

const LIMITS: &[Key] = &[
    key(
        "leakage",
        Either(&[(D::VolumeFlow, "0.001 mL/h", "1000 L/h"), (D::MassFlow, "0.001 g/h", "1000 kg/h")]),
        "greatest leakage, by volume at chamber conditions or by mass",
    ),
    key("face_temperature", TEMPERATURE, "greatest face temperature"),
    key("boiling_margin", Quantity(D::TemperatureDifference, "0 K", "300 K"), "least margin to boiling"),
    key("contact_share", Share(0.0, 1.0), "greatest share of closing carried by contact"),
    key("power", Quantity(D::Power, "0.1 W", "1000 kW"), "greatest power"),
    key("minimum_film", Quantity(D::Length, "0 um", "100 um"), "least film"),
];

/// Keys that go by another name here, for a better hint than the nearest spelling.
pub(super) const KNOWN_AS: &[(&str, &str)] = &[
    ("inserts", "parts"),
    ("rpm", "speed"),
    ("diameter", "balance_diameter"),
    ("springs", "spring_force"),
    ("elastomer", "secondary_seal"),
    ("viscosities", "viscosity"),
    ("runout", "face_runout"),
];

/// One line a key: path, kind with range, default, meaning. The manual prints it.
pub fn key_list() -> Vec<[String; 4]> {
    let mut rows = Vec::new();
    list(ROOT, "", &mut rows);
    rows
}

fn list(keys: &[Key], at: &str, rows: &mut Vec<[String; 4]>) {
    for key in keys {
        let path = if at.is_empty() { key.name.to_owned() } else { format!("{at}.{}", key.name) };
        let default = match (key.required, key.default) {
            (true, _) => "required".to_owned(),
            (false, "") => "none".to_owned(),
            (false, default) => default.to_owned(),
        };
        rows.push([path.clone(), key.kind.words(), default, key.meaning.to_owned()]);
        match key.kind {
            Kind::Table(keys) => list(keys, &path, rows),
            Kind::List(keys) => list(keys, &format!("{path}[]"), rows),
            Kind::Named(keys) => list(keys, &format!("{path}.NAME"), rows),
            _ => {}
        }
    }
}

/// An example that the range allows: films are no shafts, strengths are no moduli.
pub fn example(dimension: D, low: &str, high: &str) -> &'static str {
    let read = |text: &str| units::read(text, dimension, STANDARD_ATMOSPHERE_PA).ok();
    if low.ends_with("1/GPa") {
        return "20 1/GPa";
    }
    let others: &[&'static str] = match dimension {
        D::Length if low.ends_with("um") || low.starts_with('-') => &["0.5 um"],
        D::Length => &["52.4 mm", "0.05 mm"],
        D::Stress => &["230 GPa", "200 MPa"],
        _ => &[],
    };
    let allowed =
        |text: &&&str| read(low).zip(read(high)).zip(read(text)).is_some_and(|((low, high), value)| (low..=high).contains(&value));
    others.iter().find(allowed).copied().unwrap_or(dimension.example())
}

impl Kind {
    /// What belongs here, in words, with the allowed range.
    pub fn words(&self) -> String {
        match self {
            Self::Version => "the number 1".to_owned(),
            Self::Text => "text".to_owned(),
            Self::Word(words) => format!("one of the words {}", quoted(words)),
            Self::Flag => "true or false".to_owned(),
            Self::Number(low, high) => format!("a number from {low} to {high}, without quotes"),
            Self::Count(low, high) => format!("a whole number from {low} to {high}, without quotes"),
            Self::Share(low, high) => format!("a share from {low} to {high}, or text such as \"12 %\""),
            Self::Quantity(dimension, low, high) => {
                format!("text with {} such as \"{}\", from {low} to {high}", dimension.noun(), example(*dimension, low, high))
            }
            Self::Either(kinds) => {
                let each: Vec<String> = kinds.iter().map(|(d, low, high)| Self::Quantity(*d, low, high).words()).collect();
                each.join("; or ")
            }
            Self::Roughness(low, high) => format!("text such as \"Ra 0.1 um\" or \"Rq 0.1 um\", Rq from {low} to {high}"),
            Self::Flatness(low, high) => format!("text such as \"2 bands\" or \"0.6 um\", from {low} to {high}"),
            Self::LappedForm(low, high) => format!("text such as \"0.3 um convex\", height from {low} to {high}"),
            Self::Span(dimension, low, high) => {
                format!("two texts [lower, upper], each {} from {low} to {high}", dimension.noun())
            }
            Self::OneOrSpan(dimension, low, high) => {
                format!("one text, or two [lower, upper], each {} from {low} to {high}", dimension.noun())
            }
            Self::Corners(r, z) => format!("four corners [[r, z], ...], r up to {r} and z up to {z}"),
            Self::AutoOr(kind) => format!("\"auto\", or {}", kind.words()),
            Self::HandOr(kind) => format!("{}; or {{ value = ..., hand = true }}", kind.words()),
            Self::Table(keys) => format!("a table with {}", names_in(keys)),
            Self::List(keys) => format!("a list of tables, each with {}", names_in(keys)),
            Self::Named(keys) => format!("a list of tables, each under its own [[heading]], with {}", names_in(keys)),
            Self::Later(what) => format!("anything; kept for {what}, not used yet"),
            Self::Elsewhere(what, place) => format!("nothing: {what} stand in {place}"),
        }
    }
}

/// The keys that a table must have, or all of them when it must have none.
fn names_in(keys: &[Key]) -> String {
    let required: Vec<&str> = keys.iter().filter(|key| key.required).map(|key| key.name).collect();
    let names: Vec<&str> = if required.is_empty() { keys.iter().map(|key| key.name).collect() } else { required };
    names.join(", ")
}

pub(super) fn quoted(words: &[&str]) -> String {
    words.iter().map(|word| format!("\"{word}\"")).collect::<Vec<_>>().join(", ")
}
