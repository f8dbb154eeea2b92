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
    GAO_2020 = "gao-2020", "Gao et al., J. Phys. Chem. Ref. Data 52 (2023) 013102: equation of state of ammonia; coefficients from CoolProp 8.0.0";
    HUBER_2009 = "huber-2009", "Huber et al., J. Phys. Chem. Ref. Data 38 (2009) 101: viscosity of water (release IAPWS R12-08)";
    HUBER_2012 = "huber-2012", "Huber et al., J. Phys. Chem. Ref. Data 41 (2012) 033102: conductivity of water (release IAPWS R15-11)";
    BELL_2014 = "bell-2014", "Bell et al., Ind. Eng. Chem. Res. 53 (2014) 2498: the CoolProp library, version 8.0.0, evaluated and fitted";
    BELL_ALPERT = "bell-alpert-2021", "Bell and Alpert, Int. J. Thermophys. 42 (2021): superancillary equations (saturation curves)";
    SPAN_2000_NITROGEN = "span-2000-nitrogen", "Span et al., J. Phys. Chem. Ref. Data 29 (2000) 1361: equation of state of nitrogen; coefficients from CoolProp 8.0.0";
    LEMMON_JACOBSEN_2004 = "lemmon-jacobsen-2004", "Lemmon and Jacobsen, Int. J. Thermophys. 25 (2004) 21: viscosity and conductivity of nitrogen, oxygen, argon and air; coefficients from CoolProp 8.0.0";
    SCHMIDT_1985 = "schmidt-1985", "Schmidt and Wagner, Fluid Phase Equilib. 19 (1985) 175, and Stewart et al., J. Phys. Chem. Ref. Data 20 (1991) 917: equation of state of oxygen; coefficients from CoolProp 8.0.0";
    TEGELER_1999 = "tegeler-1999", "Tegeler et al., J. Phys. Chem. Ref. Data 28 (1999) 779: equation of state of argon; coefficients from CoolProp 8.0.0";
    LEMMON_2000 = "lemmon-2000", "Lemmon et al., J. Phys. Chem. Ref. Data 29 (2000) 331: equation of state of air; coefficients from CoolProp 8.0.0";
    SPAN_1996 = "span-1996", "Span and Wagner, J. Phys. Chem. Ref. Data 25 (1996) 1509: equation of state of carbon dioxide; coefficients from CoolProp 8.0.0";
    LAESECKE_2017_CO2 = "laesecke-2017-co2", "Laesecke and Muzny, J. Phys. Chem. Ref. Data 46 (2017): viscosity of carbon dioxide; coefficients from CoolProp 8.0.0";
    HUBER_2016_CO2 = "huber-2016-co2", "Huber et al., J. Phys. Chem. Ref. Data 45 (2016): conductivity of carbon dioxide; coefficients from CoolProp 8.0.0";
    FENGHOUR_1995 = "fenghour-1995", "Fenghour et al., J. Phys. Chem. Ref. Data 24 (1995) 1649: viscosity of ammonia; coefficients from CoolProp 8.0.0";
    TUFEU_1984 = "tufeu-1984", "Tufeu et al., Ber. Bunsenges. Phys. Chem. 88 (1984) 422: conductivity of ammonia; coefficients from CoolProp 8.0.0";
    SETZMANN_1991 = "setzmann-1991", "Setzmann and Wagner, J. Phys. Chem. Ref. Data 20 (1991) 1061: equation of state of methane; coefficients from CoolProp 8.0.0";
    QUINONES_CISNEROS_2006 = "quinones-cisneros-2006", "Quinones-Cisneros and Deiters, J. Phys. Chem. B 110 (2006) 12820: viscosity of methane and pentane; coefficients from CoolProp 8.0.0";
    FRIEND_1989 = "friend-1989", "Friend et al., J. Phys. Chem. Ref. Data 18 (1989): conductivity of methane; coefficients from CoolProp 8.0.0";
    BUECKER_2006 = "buecker-2006", "Buecker and Wagner, J. Phys. Chem. Ref. Data 35 (2006) 205: equation of state of ethane; coefficients from CoolProp 8.0.0";
    FRIEND_1991 = "friend-1991", "Friend et al., J. Phys. Chem. Ref. Data 20 (1991) 275: viscosity and conductivity of ethane; coefficients from CoolProp 8.0.0";
    LEMMON_2009 = "lemmon-2009", "Lemmon et al., J. Chem. Eng. Data 54 (2009) 3141: equation of state of propane; coefficients from CoolProp 8.0.0";
    VOGEL_1998 = "vogel-1998", "Vogel et al., J. Phys. Chem. Ref. Data 27 (1998) 947: viscosity of propane; coefficients from CoolProp 8.0.0";
    MARSH_2002 = "marsh-2002", "Marsh et al., J. Chem. Eng. Data 47 (2002) 932: conductivity of propane; coefficients from CoolProp 8.0.0";
    BUECKER_2006_BUTANES = "buecker-2006-butanes", "Buecker and Wagner, J. Phys. Chem. Ref. Data 35 (2006) 929: equation of state of butane and isobutane; coefficients from CoolProp 8.0.0";
    VOGEL_1999 = "vogel-1999", "Vogel et al., High Temp. - High Pressures 31 (1999) 173: viscosity of butane; coefficients from CoolProp 8.0.0";
    PERKINS_2002_BUTANE = "perkins-2002-butane", "Perkins et al., J. Chem. Eng. Data 47 (2002) 1263: conductivity of butane; coefficients from CoolProp 8.0.0";
    VOGEL_2000 = "vogel-2000", "Vogel et al., Int. J. Thermophys. 21 (2000) 343: viscosity of isobutane; coefficients from CoolProp 8.0.0";
    PERKINS_2002_ISOBUTANE = "perkins-2002-isobutane", "Perkins, J. Chem. Eng. Data 47 (2002) 1272: conductivity of isobutane; coefficients from CoolProp 8.0.0";
    THOL_2019 = "thol-2019", "Thol et al., Fluid Phase Equilib. (2019): equation of state of pentane and hexane; coefficients from CoolProp 8.0.0";
    VASSILIOU_2015 = "vassiliou-2015", "Vassiliou et al., J. Phys. Chem. Ref. Data 44 (2015) 033102: conductivity of pentane; coefficients from CoolProp 8.0.0";
    MICHAILIDOU_2013_HEXANE = "michailidou-2013-hexane", "Michailidou et al., J. Phys. Chem. Ref. Data 42 (2013) 033104: viscosity of hexane; coefficients from CoolProp 8.0.0";
    ASSAEL_2013_HEXANE = "assael-2013-hexane", "Assael et al., J. Phys. Chem. Ref. Data 42 (2013) 013106: conductivity of hexane; coefficients from CoolProp 8.0.0";
    SPAN_WAGNER_2003 = "span-wagner-2003", "Span and Wagner, Int. J. Thermophys. 24 (2003) 41: equation of state of heptane; coefficients from CoolProp 8.0.0";
    MICHAILIDOU_2014_HEPTANE = "michailidou-2014-heptane", "Michailidou et al., J. Phys. Chem. Ref. Data 43 (2014) 023103: viscosity of heptane; coefficients from CoolProp 8.0.0";
    ASSAEL_2013_HEPTANE = "assael-2013-heptane", "Assael et al., J. Phys. Chem. Ref. Data 42 (2013) 023101: conductivity of heptane; coefficients from CoolProp 8.0.0";
    BECKMUELLER_2019_OCTANE = "beckmueller-2019-octane", "Beckmueller et al., Int. J. Thermophys. (2019): equation of state of octane; coefficients from CoolProp 8.0.0";
    HUBER_2004 = "huber-2004", "Huber et al., Fluid Phase Equilib. 224 (2004) 263: viscosity of octane, nonane and decane; coefficients from CoolProp 8.0.0";
    HUBER_2005 = "huber-2005", "Huber and Perkins, Fluid Phase Equilib. 227 (2005) 47: conductivity of octane, nonane and decane; coefficients from CoolProp 8.0.0";
    LEMMON_SPAN_2006 = "lemmon-span-2006", "Lemmon and Span, J. Chem. Eng. Data 51 (2006) 785: equation of state of nonane, decane and toluene; coefficients from CoolProp 8.0.0";
    LEMMON_HUBER_2004 = "lemmon-huber-2004", "Lemmon and Huber, Energy and Fuels 18 (2004) 960: equation of state of dodecane; coefficients from CoolProp 8.0.0";
    HUBER_2004_DODECANE = "huber-2004-dodecane", "Huber et al., Energy and Fuels 18 (2004) 968: viscosity and conductivity of dodecane; coefficients from CoolProp 8.0.0";
    LEMMON_2013_PROPYLENE = "lemmon-2013-propylene", "Lemmon et al. (2010, unpublished): equation of state of propylene; coefficients from CoolProp 8.0.0";
    HUBER_2003 = "huber-2003", "Huber et al., Ind. Eng. Chem. Res. 42 (2003) 3163: viscosity of propylene and R134a; conductivity of propylene; coefficients from CoolProp 8.0.0";
    LEACHMAN_2009 = "leachman-2009", "Leachman et al., J. Phys. Chem. Ref. Data 38 (2009) 721: equation of state of hydrogen; coefficients from CoolProp 8.0.0";
    MUZNY_2013 = "muzny-2013", "Muzny et al., J. Chem. Eng. Data 58 (2013) 969: viscosity of hydrogen; coefficients from CoolProp 8.0.0";
    ASSAEL_2011_HYDROGEN = "assael-2011-hydrogen", "Assael et al., J. Phys. Chem. Ref. Data 40 (2011) 033101: conductivity of hydrogen; coefficients from CoolProp 8.0.0";
    ORTIZ_VEGA_2019 = "ortiz-vega-2019", "Ortiz-Vega et al. (2019, unpublished then): equation of state of helium; coefficients from CoolProp 8.0.0";
    ARP_1998 = "arp-1998", "Arp et al., NIST (1998): viscosity of helium; coefficients from CoolProp 8.0.0";
    HANDS_1981 = "hands-1981", "Hands and Arp, Cryogenics 21 (1981) 697: conductivity of helium; coefficients from CoolProp 8.0.0";
    DEREUCK_1993 = "dereuck-1993", "de Reuck and Craven, Blackwell Scientific Publications, Oxford, United Kingdom (1993): equation of state of methanol; coefficients from CoolProp 8.0.0";
    XIANG_2006 = "xiang-2006", "Xiang et al., J. Phys. Chem. Ref. Data 35 (2006) 1597: viscosity of methanol; coefficients from CoolProp 8.0.0";
    SYKIOTI_2013_METHANOL = "sykioti-2013-methanol", "Sykioti et al., J. Phys. Chem. Ref. Data 42 (2013) 043101: conductivity of methanol; coefficients from CoolProp 8.0.0";
    SCHROEDER_2014 = "schroeder-2014", "Schroeder et al., J. Phys. Chem. Ref. Data 43 (2014) 043102: equation of state of ethanol; coefficients from CoolProp 8.0.0";
    KISELEV_2005 = "kiselev-2005", "Kiselev et al., Ind. Eng. Chem. Res. 44 (2005) 6916: viscosity of ethanol; coefficients from CoolProp 8.0.0";
    ASSAEL_2013_ETHANOL = "assael-2013-ethanol", "Assael et al., J. Phys. Chem. Ref. Data 42 (2013) 023102: conductivity of ethanol; coefficients from CoolProp 8.0.0";
    THOL_2012 = "thol-2012", "Thol et al., High Temperatures-High Pressures 41 (2012) 81: equation of state of benzene; coefficients from CoolProp 8.0.0";
    AVGERI_2014_BENZENE = "avgeri-2014-benzene", "Avgeri et al., J. Phys. Chem. Ref. Data 43 (2014) 033103: viscosity of benzene; coefficients from CoolProp 8.0.0";
    ASSAEL_2012_BENZENE = "assael-2012-benzene", "Assael et al., J. Phys. Chem. Ref. Data 41 (2012) 043102: conductivity of benzene; coefficients from CoolProp 8.0.0";
    AVGERI_2015_TOLUENE = "avgeri-2015-toluene", "Avgeri et al., J. Phys. Chem. Ref. Data 44 (2015) 033101: viscosity of toluene; coefficients from CoolProp 8.0.0";
    ASSAEL_2012_TOLUENE = "assael-2012-toluene", "Assael et al., J. Phys. Chem. Ref. Data 41 (2012) 023101: conductivity of toluene; coefficients from CoolProp 8.0.0";
    TILLNER_ROTH_1994 = "tillner-roth-1994", "Tillner-Roth and Baehr, J. Phys. Chem. Ref. Data 23 (1994) 657: equation of state of R134a; coefficients from CoolProp 8.0.0";
    MCLINDEN_2000 = "mclinden-2000", "McLinden et al., Int. J. Refrig. 23 (2000) 43: conductivity of R134a; coefficients from CoolProp 8.0.0";
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
