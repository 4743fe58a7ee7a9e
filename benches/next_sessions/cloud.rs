//! Draws that follow what is seen in a session: weighted by every trial and, where few are left that explain it, drawn
//! anew around those, so that mean and spread stay (kernel smoothing with shrinkage: Liu & West 2001, from memory).

use kneedamp::numerics::random::Draw;
use kneedamp::study::next::{Population, Weighted};

/// Draws of a cloud.
const SIZE: u32 = 96;
/// New ones are drawn where the weights are worth fewer equally likely draws than this share.
const DEPLETED: f64 = 0.5;
/// A trial that leaves fewer equally likely draws than this is trusted less, by a power of its likelihood.
const LEAST_EFFECTIVE: f64 = 12.0;
/// How much of a draw's distance from the mean stays when it is drawn anew; noise makes up for the rest.
const KEPT: f64 = 0.97;

pub struct Cloud {
    points: Vec<Vec<f64>>,
    pub weighted: Weighted,
}

impl Cloud {
    pub fn new(population: &mut Population) -> Self {
        let draws: Vec<u32> = (0..SIZE).collect();
        let points = draws.iter().map(|d| population.point(*d)).collect();
        let cloud = Self { points, weighted: Weighted { draws, weights: vec![1.0; SIZE as usize] } };
        cloud.give_to(population);
        cloud
    }

    pub fn learn(&mut self, likely: &[f64], population: &mut Population, random: &mut Draw) {
        let before = self.weighted.weights.clone();
        let mut power = 1.0;
        loop {
            let weights = before.iter().zip(likely).map(|(w, l)| w * l.powf(power));
            self.weighted.weights = weights.collect();
            if self.weighted.effective() >= LEAST_EFFECTIVE || power < 0.02 {
                break;
            }
            power *= 0.7;
        }
        if self.weighted.effective() < DEPLETED * f64::from(SIZE) {
            self.draw_anew(random);
        }
        self.give_to(population);
    }

    fn draw_anew(&mut self, random: &mut Draw) {
        let mean = self.mean();
        let picked: Vec<Vec<f64>> =
            self.weighted.pick(SIZE as usize).iter().map(|d| self.points[*d as usize].clone()).collect();
        let noise = (1.0 - KEPT * KEPT).sqrt() / f64::from(SIZE).sqrt();
        let anew = |point: &Vec<f64>| -> Vec<f64> {
            let shares: Vec<f64> = (0..SIZE).map(|_| noise * normal(random)).collect();
            let of = |row: usize| {
                let spread: f64 =
                    picked.iter().zip(&shares).map(|(p, share)| share * (p[row] - mean[row])).sum();
                (mean[row] + KEPT * (point[row] - mean[row]) + spread).clamp(0.0, 1.0)
            };
            (0..mean.len()).map(of).collect()
        };
        let mut anew = anew;
        self.points = picked.iter().map(&mut anew).collect();
        self.weighted.weights.fill(1.0);
    }

    fn mean(&self) -> Vec<f64> {
        let sum: f64 = self.weighted.weights.iter().sum();
        let of = |row: usize| -> f64 {
            self.points.iter().zip(&self.weighted.weights).map(|(p, w)| w * p[row]).sum::<f64>() / sum
        };
        (0..self.points[0].len()).map(of).collect()
    }

    fn give_to(&self, population: &mut Population) {
        population.take_points(self.points.clone());
    }
}

/// Standard normal (Box & Muller 1958).
fn normal(random: &mut Draw) -> f64 {
    let radius = (-2.0 * random.within(1e-12, 1.0).ln()).sqrt();
    radius * (std::f64::consts::TAU * random.unit()).cos()
}
