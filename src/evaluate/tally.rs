//! Sums and histograms of drawn values, from which mean, standard deviation and quantiles are read.

/// Bins of a value's histogram, over so many standard deviations to both sides of the pilot's mean. No distribution
/// has its 2.5 % quantile further off than 6.2 of them (Chebyshev's inequality).
const BINS: usize = 2_000;
const SIDES: f64 = 7.0;

/// Where a value's histogram lies.
#[derive(Clone, Copy)]
pub(super) struct Place {
    middle: f64,
    width: f64,
}

/// Sums of one value, off the middle of its place.
#[derive(Clone, Copy)]
pub(super) struct Sums {
    pub(super) count: usize,
    /// Draws for which it could not be worked.
    pub(super) lost: usize,
    sum: f64,
    squares: f64,
    least: f64,
    most: f64,
}

/// Sums and histograms of all values.
pub(super) struct Tallies {
    pub(super) sums: Vec<Sums>,
    bins: Vec<u32>,
}

impl Place {
    pub(super) fn new(middle: f64, deviation: f64) -> Place {
        Place { middle, width: 2.0 * SIDES * deviation.max(f64::MIN_POSITIVE) / BINS as f64 }
    }
}

impl Default for Sums {
    fn default() -> Sums {
        Sums { count: 0, lost: 0, sum: 0.0, squares: 0.0, least: f64::INFINITY, most: f64::NEG_INFINITY }
    }
}

impl Sums {
    fn add(&mut self, its: &Sums) {
        self.count += its.count;
        self.lost += its.lost;
        self.sum += its.sum;
        self.squares += its.squares;
        self.least = self.least.min(its.least);
        self.most = self.most.max(its.most);
    }

    /// The bin that the value falls in.
    pub(super) fn take(&mut self, value: f64, place: Place) -> Option<usize> {
        if !value.is_finite() {
            self.lost += 1;
            return None;
        }
        let off = value - place.middle;
        self.count += 1;
        self.sum += off;
        self.squares += off * off;
        self.least = self.least.min(off);
        self.most = self.most.max(off);
        Some((off / place.width + BINS as f64 / 2.0).clamp(0.0, BINS as f64 - 1.0) as usize)
    }
}

impl Tallies {
    pub(super) fn new(values: usize) -> Tallies {
        Tallies { sums: vec![Sums::default(); values], bins: Tallies::bins(values) }
    }

    /// Empty histograms of so many values.
    pub(super) fn bins(values: usize) -> Vec<u32> {
        vec![0; values * BINS]
    }

    /// Where a value's bin stands among all.
    pub(super) fn bin(at: usize, bin: usize) -> usize {
        at * BINS + bin
    }

    /// Those of some of the values, by their numbers here.
    pub(super) fn add(&mut self, other: &Tallies, numbers: &[usize]) {
        for (its, own) in numbers.iter().enumerate() {
            let bins = &other.bins[its * BINS..(its + 1) * BINS];
            self.bins[own * BINS..(own + 1) * BINS].iter_mut().zip(bins).for_each(|(own, its)| *own += its);
            self.sums[*own].add(&other.sums[its]);
        }
    }

    pub(super) fn count(&mut self, bins: &[u32]) {
        for (own, its) in self.bins.iter_mut().zip(bins) {
            *own += its;
        }
    }

    pub(super) fn sum(&mut self, sums: &[Sums]) {
        self.sums.iter_mut().zip(sums).for_each(|(own, its)| own.add(its));
    }

    /// Mean, standard deviation, and the ends of the 95 % interval; `None` for a value that could not be worked.
    pub(super) fn figures(&self, at: usize, place: Place) -> Option<[f64; 4]> {
        let sums = self.sums[at];
        if sums.count < 2 {
            return None;
        }
        let n = sums.count as f64;
        let mean = sums.sum / n;
        let variance = (sums.squares - n * mean * mean).max(0.0) / (n - 1.0);
        let [low, high] = [0.025, 0.975].map(|share| self.quantile(at, place, share));
        Some([place.middle + mean, variance.sqrt(), low, high])
    }

    /// By the histogram, straight within a bin.
    fn quantile(&self, at: usize, place: Place, share: f64) -> f64 {
        let Sums { count, least, most, .. } = self.sums[at];
        let wanted = share * count as f64;
        let mut before = 0.0;
        for (bin, count) in self.bins[at * BINS..(at + 1) * BINS].iter().enumerate() {
            let count = f64::from(*count);
            if count > 0.0 && before + count >= wanted {
                let inside = (wanted - before) / count;
                let off = (bin as f64 + inside - BINS as f64 / 2.0) * place.width;
                return place.middle + off.clamp(least, most);
            }
            before += count;
        }
        place.middle + most
    }
}
