//! Numerical methods that know nothing of knees: integration of hybrid systems, roots, SIMD lanes, random
//! numbers, statistics, least squares.

pub mod dormand_prince;
pub mod events;
pub mod hybrid;
pub mod intervals;
pub mod least_squares;
pub mod math;
pub mod quadrature;
pub mod random;
pub mod roots;
#[cfg(feature = "app")]
pub mod second_integrator;
pub mod simd;
pub mod sin_cos_cache;
pub mod smooth;
pub mod sobol;
pub mod statistics;
pub mod steps;
pub mod system;
pub mod tolerances;
pub mod trajectory;
