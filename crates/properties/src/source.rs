//! The works that the numbers come from. Keys are those of `references.bib`.

/// Where a number comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct SourceRef {
    /// Key in `references.bib`.
    pub key: &'static str,
    /// Short citation, with how far we saw it ourselves.
    pub text: &'static str,
}

macro_rules! sources {
    ($($(#[$doc:meta])* $name:ident = $key:literal, $text:literal;)*) => {
        $(pub(crate) const $name: SourceRef = SourceRef { key: $key, text: $text };)*
        /// Every source that the crate's code and data may name.
        pub fn all_sources() -> &'static [SourceRef] { &[$($name),*] }
    };
}

sources! {
    WAGNER_PRUSS = "wagner-pruss-2002", "Wagner and Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387: IAPWS-95 (release R6-95)";
    HUBER_2009 = "huber-2009", "Huber et al., J. Phys. Chem. Ref. Data 38 (2009) 101: viscosity of water (release IAPWS R12-08)";
    HUBER_2012 = "huber-2012", "Huber et al., J. Phys. Chem. Ref. Data 41 (2012) 033102: conductivity of water (release IAPWS R15-11)";
    BELL_2014 = "bell-2014", "Bell et al., Ind. Eng. Chem. Res. 53 (2014) 2498: the CoolProp library, version 8.0.0, evaluated and fitted";
    BELL_ALPERT = "bell-alpert-2021", "Bell and Alpert, Int. J. Thermophys. 42 (2021): superancillary equations (saturation curves)";
    SHARQAWY = "sharqawy-2010", "Sharqawy, Lienhard and Zubair, Desalin. Water Treat. 16 (2010) 354: sea water; equations from memory, compared with the CoolProp entry";
    IAPWS_SATURATION = "wagner-pruss-1993", "Wagner and Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783: saturation line of water (IAPWS SR1-86)";
    LALIBERTE_2009 = "laliberte-2009", "Laliberte, J. Chem. Eng. Data 54 (2009) 1725: density, viscosity and heat capacity of aqueous solutions; coefficients from the open chemicals library";
    LALIBERTE_2007 = "laliberte-2007", "Laliberte, J. Chem. Eng. Data 52 (2007) 321: viscosity of aqueous solutions";
    MAGOMEDOV = "magomedov-2001", "Magomedov, High Temperature 39 (2001) 221: conductivity of aqueous solutions";
    ASTM_D341 = "astm-d341", "ASTM D341: viscosity-temperature relation of petroleum products; constants from memory";
    ISO_3448 = "iso-3448", "ISO 3448: viscosity grades at 40 degC; midpoints from memory";
    BARUS = "barus-1893", "Barus, Am. J. Sci. 45 (1893) 87: exponential rise of viscosity with pressure";
    MCADAMS = "mcadams-1942", "McAdams, Woods and Heroman, Trans. ASME 64 (1942) 193: viscosity of a homogeneous mixture; from memory";
    CICCHITTI = "cicchitti-1960", "Cicchitti et al., Energia Nucleare 7 (1960) 407: viscosity of a homogeneous mixture by mass; from memory";
    DUKLER = "dukler-1964", "Dukler, Wicks and Cleveland, AIChE J. 10 (1964) 44: viscosity of a homogeneous mixture by volume; from memory";
    MUNRO_1997 = "munro-1997", "Munro, J. Phys. Chem. Ref. Data 26 (1997) 1195: sintered alpha silicon carbide (NIST SRD 150 summary); page located, numbers from memory";
    NIST_ALUMINA = "munro-alumina-1997", "Munro, J. Am. Ceram. Soc. 80 (1997) 1919: sintered alpha alumina (NIST SRD 150 summary); seen where the row says so";
    ASTM_F1684 = "astm-f1684", "ASTM F1684: iron-nickel low expansion alloys, by way of a public page; seen";
    STEEL_316 = "steel-316-data-page", "public data page for stainless steel 316; seen";
    NAU_1997 = "nau-1997", "Nau, Proc. Inst. Mech. Eng. J 211 (1997) 165: review of face materials; seen in part, columns deduced";
    MEMORY = "from-memory", "typical engineering figure, from memory, no source: replace it by the supplier's certificate";
    PRACTICE = "common-practice", "common practice, no source";
    USER = "user", "the user's own data";
    OIL_PAIR = "d341-worksheet", "viscosity pair 32 at 40 and 5.4 mm2/s at 100 degC of a public D341 worksheet; seen";
    CAUSTIC_NOTE = "caustic-note", "public note on 50 % caustic: boiling about 145 degC, freezing about 14 degC, vapour pressure 0.20 kPa at 20 degC; seen";
}

/// The source of a key, if the crate knows it.
pub(crate) fn by_key(key: &str) -> Option<SourceRef> {
    all_sources().iter().copied().find(|s| s.key == key)
}
