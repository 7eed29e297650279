//! Inputs of a simulation and how they are drawn.

use crate::{
    CovarianceMatrix, UncertaintyError,
    inputs::Shape,
    monte_carlo::{BLOCK, Settings},
    numeric::{degrees_of_freedom, finite, not_negative, positive},
    random::Stream,
};
use nalgebra::DMatrix;

/// Rows of inputs drawn at a time: 256 × 8 bytes × a dozen inputs stay in the
/// first-level cache.
const CHUNK: usize = 256;

/// What is known about one input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Distribution {
    /// A number without uncertainty.
    Exact(f64),
    /// Normal.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation.
        standard_deviation: f64,
    },
    /// Scaled and shifted t: an uncertainty from few readings.
    StudentT {
        /// Best estimate.
        value: f64,
        /// Standard uncertainty as the budget states it (the scale).
        scale: f64,
        /// Degrees of freedom.
        degrees_of_freedom: f64,
    },
    /// Uniform between two ends.
    Rectangular {
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
    /// Another shape around a centre, as in a budget line.
    Shaped {
        /// Centre.
        centre: f64,
        /// Half-width, step or stated uncertainty, see [`Shape`].
        stated: f64,
        /// Shape.
        shape: Shape,
    },
    /// Gamma of given mean and standard deviation: a quantity that cannot be
    /// negative.
    Gamma {
        /// Mean.
        mean: f64,
        /// Standard deviation.
        standard_deviation: f64,
    },
}

impl Distribution {
    fn check(&self) -> Result<(), UncertaintyError> {
        match *self {
            Self::Exact(value) => finite("value", value).map(|_| ()),
            Self::Normal { mean, standard_deviation } => {
                finite("mean", mean)?;
                not_negative("standard deviation", standard_deviation).map(|_| ())
            }
            Self::StudentT { value, scale, degrees_of_freedom: dof } => {
                finite("value", value)?;
                not_negative("scale", scale)?;
                degrees_of_freedom(dof).map(|_| ())
            }
            Self::Rectangular { low, high } => {
                finite("lower end", low)?;
                finite("upper end", high)?;
                if low <= high {
                    Ok(())
                } else {
                    Err(UncertaintyError::LimitsCross { lower: low, upper: high })
                }
            }
            Self::Shaped { centre, stated, shape } => {
                finite("centre", centre)?;
                shape.standard_uncertainty(stated).map(|_| ())
            }
            Self::Gamma { mean, standard_deviation } => {
                positive("mean", mean)?;
                positive("standard deviation", standard_deviation).map(|_| ())
            }
        }
    }

    fn fill<'a>(&self, stream: &mut Stream, column: impl Iterator<Item = &'a mut f64>) {
        match *self {
            Self::Exact(value) => column.for_each(|x| *x = value),
            Self::Normal { mean, standard_deviation } => {
                column.for_each(|x| *x = mean + standard_deviation * stream.normal());
            }
            Self::StudentT { value, scale, degrees_of_freedom } => {
                for x in column {
                    let t = if degrees_of_freedom.is_finite() {
                        let chi = 2.0 * stream.gamma(0.5 * degrees_of_freedom);
                        stream.normal() * (degrees_of_freedom / chi).sqrt()
                    } else {
                        stream.normal()
                    };
                    *x = value + scale * t;
                }
            }
            Self::Rectangular { low, high } => {
                column.for_each(|x| *x = low + (high - low) * stream.uniform());
            }
            Self::Shaped { centre, stated, shape } => {
                column.for_each(|x| *x = centre + shaped(stream, stated, shape));
            }
            Self::Gamma { mean, standard_deviation } => {
                let shape = (mean / standard_deviation).powi(2);
                column.for_each(|x| *x = stream.gamma(shape) * mean / shape);
            }
        }
    }
}

fn shaped(stream: &mut Stream, stated: f64, shape: Shape) -> f64 {
    let mut sign = || 2.0 * stream.uniform() - 1.0;
    match shape {
        Shape::Normal => stated * stream.normal(),
        Shape::Expanded { factor } => stated / factor * stream.normal(),
        Shape::Rectangular => stated * sign(),
        Shape::Resolution => 0.5 * stated * sign(),
        Shape::Triangular => 0.5 * stated * (sign() + sign()),
        Shape::Arcsine => stated * (std::f64::consts::PI * stream.uniform()).cos(),
        // Sum of two rectangles with half-widths (1 ± β)/2.
        Shape::Trapezoid { top } => 0.5 * stated * ((1.0 + top) * sign() + (1.0 - top) * sign()),
        Shape::CurvilinearTrapezoid { inexactness } => {
            let half_width = stated + inexactness * sign();
            half_width * sign()
        }
    }
}

/// Inputs of a model: independent distributions, and groups of jointly normal
/// ones behind them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Inputs {
    independent: Vec<Distribution>,
    joint: Vec<(Vec<f64>, DMatrix<f64>)>,
}

impl Inputs {
    /// Independent inputs, in the order of the model's arguments.
    ///
    /// # Errors
    ///
    /// Parameters that make no distribution.
    pub fn independent(distributions: Vec<Distribution>) -> Result<Self, UncertaintyError> {
        distributions.iter().try_for_each(Distribution::check)?;
        Ok(Self { independent: distributions, joint: Vec::new() })
    }

    /// Adds jointly normal inputs behind all those that are there.
    ///
    /// # Errors
    ///
    /// A mean that is not finite, or a matrix of another size.
    pub fn with_joint_normal(
        mut self,
        means: Vec<f64>,
        covariance: &CovarianceMatrix,
    ) -> Result<Self, UncertaintyError> {
        if means.len() != covariance.size() {
            return Err(UncertaintyError::Count {
                what: "means for the covariance matrix",
                expected: covariance.size(),
                found: means.len(),
            });
        }
        for mean in &means {
            finite("mean", *mean)?;
        }
        self.joint.push((means, covariance.factor()));
        Ok(self)
    }

    /// Number of arguments the model gets.
    pub fn count(&self) -> usize {
        self.independent.len() + self.joint.iter().map(|(m, _)| m.len()).sum::<usize>()
    }

    /// Draws the inputs of several trials, one trial after the other in `rows`.
    fn draw(&self, stream: &mut Stream, rows: &mut [f64]) {
        let width = self.count();
        for (i, distribution) in self.independent.iter().enumerate() {
            distribution.fill(stream, rows.iter_mut().skip(i).step_by(width));
        }
        let mut first = self.independent.len();
        for (means, factor) in &self.joint {
            let mut normals = vec![0.0; means.len()];
            for row in rows.chunks_exact_mut(width) {
                normals.fill_with(|| stream.normal());
                for (i, (x, mean)) in row.iter_mut().skip(first).zip(means).enumerate() {
                    *x = mean + normals.iter().enumerate().map(|(k, z)| factor[(i, k)] * z).sum::<f64>();
                }
            }
            first += means.len();
        }
    }

    /// The model values of one block.
    fn block(
        &self,
        model: &(impl Fn(&[f64]) -> f64 + Sync),
        seed: u64,
        block: usize,
        out: &mut [f64],
    ) -> Result<(), UncertaintyError> {
        let mut stream = Stream::new(seed, block as u64);
        let width = self.count();
        if width == 0 {
            return Err(UncertaintyError::TooFew { what: "inputs", expected: 1, found: 0 });
        }
        let mut rows = vec![0.0; width * CHUNK];
        for (part, chunk) in out.chunks_mut(CHUNK).enumerate() {
            let (used, _) = rows.split_at_mut(width * chunk.len());
            self.draw(&mut stream, used);
            for (row, (y, arguments)) in chunk.iter_mut().zip(used.chunks_exact(width)).enumerate() {
                *y = model(arguments);
                if !y.is_finite() {
                    let trial = block * BLOCK + part * CHUNK + row;
                    return Err(UncertaintyError::ModelNotFinite { trial, found: *y });
                }
            }
        }
        Ok(())
    }

    /// Values of consecutive blocks, worked on by several threads.
    pub(crate) fn blocks(
        &self,
        model: &(impl Fn(&[f64]) -> f64 + Sync),
        settings: Settings,
        first: usize,
        out: &mut [f64],
    ) -> Result<(), UncertaintyError> {
        let mut jobs: Vec<Vec<(usize, &mut [f64])>> = Vec::new();
        jobs.resize_with(settings.threads, Vec::new);
        for (index, slice) in out.chunks_mut(BLOCK).enumerate() {
            if let Some(job) = jobs.get_mut(index % settings.threads) {
                job.push((first + index, slice));
            }
        }
        let work = |job: Vec<(usize, &mut [f64])>| {
            job.into_iter().try_for_each(|(block, slice)| self.block(model, settings.seed, block, slice))
        };
        if settings.threads == 1 {
            return jobs.into_iter().try_for_each(work);
        }
        std::thread::scope(|scope| {
            let handles: Vec<_> = jobs.into_iter().map(|job| scope.spawn(|| work(job))).collect();
            let mut first_error = Ok(());
            for handle in handles {
                match handle.join() {
                    Ok(result) => first_error = first_error.and(result),
                    // The model panicked: that is the caller's, pass it on.
                    Err(panic) => std::panic::resume_unwind(panic),
                }
            }
            first_error
        })
    }
}
