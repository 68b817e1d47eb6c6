//! Building materials: what a wave loses inside them.

use crate::range::{Check, RangeError};
use crate::units::{Db, Megahertz, SPEED_OF_LIGHT_M_S};

/// Materials of ITU-R P.2040 Table 3.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Material {
    /// Concrete, 1 to 100 GHz.
    Concrete,
    /// Brick, 1 to 40 GHz.
    Brick,
    /// Plasterboard, 1 to 100 GHz.
    Plasterboard,
    /// Wood, 0.001 to 100 GHz.
    Wood,
    /// Glass, 0.1 to 100 GHz.
    Glass,
    /// Ceiling board, 1 to 100 GHz.
    CeilingBoard,
    /// Chipboard, 1 to 100 GHz.
    Chipboard,
    /// Plywood, 1 to 40 GHz.
    Plywood,
    /// Marble, 1 to 60 GHz.
    Marble,
    /// Metal, 1 to 100 GHz.
    Metal,
}

impl Material {
    /// Constants a, b (relative permittivity a·f^b) and c, d (conductivity c·f^d, S/m), f in GHz.
    fn constants(self) -> [f64; 4] {
        match self {
            Self::Concrete => [5.24, 0.0, 0.0462, 0.7822],
            Self::Brick => [3.91, 0.0, 0.0238, 0.16],
            Self::Plasterboard => [2.73, 0.0, 0.0085, 0.9395],
            Self::Wood => [1.99, 0.0, 0.0047, 1.0718],
            Self::Glass => [6.31, 0.0, 0.0036, 1.3394],
            Self::CeilingBoard => [1.48, 0.0, 0.0011, 1.0750],
            Self::Chipboard => [2.58, 0.0, 0.0217, 0.78],
            Self::Plywood => [2.71, 0.0, 0.33, 0.0],
            Self::Marble => [7.074, 0.0, 0.0055, 0.9262],
            Self::Metal => [1.0, 0.0, 1e7, 0.0],
        }
    }

    /// Real part of the relative permittivity.
    ///
    /// Range: 0.5 to 100 GHz (the table states 1 GHz as the lower end for most rows; brick, plywood and marble
    /// end earlier). Source: ITU-R P.2040 Table 3 (secondary: open-source code).
    ///
    /// # Errors
    /// When the frequency is out of range.
    pub fn relative_permittivity(self, frequency: Megahertz) -> Result<f64, RangeError> {
        let f = gigahertz("permittivity of a material", frequency)?;
        let [a, b, ..] = self.constants();
        Ok(a * libm::pow(f, b))
    }

    /// Conductivity in siemens per metre. Range and source: as [`Material::relative_permittivity`].
    ///
    /// # Errors
    /// When the frequency is out of range.
    pub fn conductivity(self, frequency: Megahertz) -> Result<f64, RangeError> {
        let f = gigahertz("conductivity of a material", frequency)?;
        let [.., c, d] = self.constants();
        Ok(c * libm::pow(f, d))
    }

    /// What a plane wave loses in one metre of the bulk, reflections at the faces not counted.
    ///
    /// Derived from the propagation constant of a lossy medium. Range: as above.
    ///
    /// # Errors
    /// When the frequency is out of range.
    pub fn attenuation_per_metre(self, frequency: Megahertz) -> Result<Db, RangeError> {
        /// Permittivity of vacuum, F/m (CODATA 2018).
        const EPSILON_0: f64 = 8.854_187_812_8e-12;
        let permittivity = self.relative_permittivity(frequency)?;
        let omega = 2.0 * core::f64::consts::PI * frequency.0 * 1e6;
        let loss_tangent = self.conductivity(frequency)? / (omega * EPSILON_0 * permittivity);
        let nepers_per_metre = omega / SPEED_OF_LIGHT_M_S
            * libm::sqrt(permittivity / 2.0 * (libm::sqrt(1.0 + loss_tangent * loss_tangent) - 1.0));
        Ok(Db(20.0 * core::f64::consts::LOG10_E * nepers_per_metre))
    }
}

fn gigahertz(operation: &'static str, frequency: Megahertz) -> Result<f64, RangeError> {
    let f = Check(operation).within(
        "frequency",
        frequency.0,
        " MHz",
        500.0..=100_000.0,
        "use a measured wall loss outside this range",
    )?;
    Ok(f / 1000.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_the_table() {
        // FACTS, P.2040 Table 3, at 2.1 GHz; the other rows are in checks.csv.
        for (material, permittivity, conductivity) in [
            (Material::CeilingBoard, 1.48, 0.002_442),
            (Material::Chipboard, 2.58, 0.038_71),
            (Material::Plywood, 2.71, 0.33),
            (Material::Marble, 7.074, 0.010_935),
        ] {
            let f = Megahertz(2100.0);
            assert_eq!(material.relative_permittivity(f), Ok(permittivity));
            let got = material.conductivity(f).unwrap();
            assert!((got / conductivity - 1.0).abs() < 1e-3, "{material:?}: {got}");
        }
    }

    #[test]
    fn dense_walls_lose_more() {
        let loss = |m: Material| m.attenuation_per_metre(Megahertz(1900.0)).unwrap();
        assert!(loss(Material::Concrete) > loss(Material::Brick));
        assert!(loss(Material::Brick) > loss(Material::Glass));
        assert!(loss(Material::Metal) > Db(1e5));
        assert!(Material::Wood.conductivity(Megahertz(100.0)).is_err());
    }
}
