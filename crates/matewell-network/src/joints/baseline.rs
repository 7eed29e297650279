//! Which earlier sweep may stand as the good state?

/// Shape in which a cable was held, as the lab names it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct CableShape(
    /// The lab's own word for it.
    pub String,
);

/// An earlier sweep, or the one in hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Identity of the chain: the same ends in the same order.
    pub chain: String,
    /// Port it was measured from.
    pub port: usize,
    /// How the cables were held; unknown when nobody wrote it down.
    pub shape: Option<CableShape>,
    /// First frequency, last frequency in hertz, and number of points.
    pub grid: (f64, f64, usize),
    /// When, in seconds of any one clock.
    pub taken_at: i64,
    /// Whether the chain was known good then.
    pub known_good: bool,
}

/// Why there is no baseline; each reason names what is nearest to one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoBaseline {
    /// No earlier sweep of this chain.
    OtherChain,
    /// Only from another port or in the other direction.
    OtherDirection,
    /// Only with the cables held otherwise, or nobody wrote down how.
    OtherShape,
    /// Only on another frequency grid.
    OtherGrid,
    /// Only in a state nobody called good.
    NotKnownGood,
}

/// The latest earlier sweep of the same chain, port, cable shape and grid that
/// was known good.
///
/// # Errors
///
/// [`NoBaseline`] with the last condition that nothing met.
pub fn choose_baseline(earlier: &[Candidate], now: &Candidate) -> Result<usize, NoBaseline> {
    let mut left: Vec<usize> = (0..earlier.len()).collect();
    let mut keep = |why, test: &dyn Fn(&Candidate) -> bool| {
        left.retain(|&k| earlier.get(k).is_some_and(test));
        if left.is_empty() { Err(why) } else { Ok(left.clone()) }
    };
    keep(NoBaseline::OtherChain, &|c| c.chain == now.chain && c.taken_at < now.taken_at)?;
    keep(NoBaseline::OtherDirection, &|c| c.port == now.port)?;
    keep(NoBaseline::OtherShape, &|c| c.shape.is_some() && c.shape == now.shape)?;
    keep(NoBaseline::OtherGrid, &|c| c.grid == now.grid)?;
    let good = keep(NoBaseline::NotKnownGood, &|c| c.known_good)?;
    good.into_iter()
        .max_by_key(|&k| earlier.get(k).map_or(i64::MIN, |c| c.taken_at))
        .ok_or(NoBaseline::NotKnownGood)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn candidate(taken_at: i64) -> Candidate {
        Candidate {
            chain: "bench 2".to_owned(),
            port: 1,
            shape: Some(CableShape("in the jig".to_owned())),
            grid: (2e7, 26.5e9, 1325),
            taken_at,
            known_good: true,
        }
    }

    #[test]
    fn the_latest_good_sweep_of_the_same_kind_is_taken() {
        let mut bad = candidate(30);
        bad.known_good = false;
        let list = [candidate(10), candidate(20), bad, candidate(50)];
        assert_eq!(choose_baseline(&list, &candidate(40)), Ok(1));
    }

    #[test]
    fn the_reason_says_what_is_missing() {
        let now = candidate(40);
        let change = |f: &dyn Fn(&mut Candidate)| {
            let mut c = candidate(10);
            f(&mut c);
            choose_baseline(&[c], &now)
        };
        assert_eq!(change(&|c| c.chain.push('x')), Err(NoBaseline::OtherChain));
        assert_eq!(change(&|c| c.port = 2), Err(NoBaseline::OtherDirection));
        assert_eq!(change(&|c| c.shape = None), Err(NoBaseline::OtherShape));
        assert_eq!(change(&|c| c.grid.2 = 201), Err(NoBaseline::OtherGrid));
        assert_eq!(change(&|c| c.known_good = false), Err(NoBaseline::NotKnownGood));
        assert_eq!(choose_baseline(&[], &now), Err(NoBaseline::OtherChain));
    }
}
