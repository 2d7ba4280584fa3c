//! How wide the columns of a table are.

/// What a column asks for; all in points.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Wish {
    /// The widest word.
    pub(crate) narrowest: f64,
    /// The longest line.
    pub(crate) widest: f64,
    /// Its part of what is left over; 0 for none.
    pub(crate) share: u16,
}

/// A column is never made narrower than this.
pub(crate) const LEAST: f64 = 22.0;

/// The widths of columns in a room without the gaps: never more than the room together.
pub(crate) fn widths(wishes: &[Wish], room: f64) -> Vec<f64> {
    let widest: f64 = wishes.iter().map(|wish| wish.widest).sum();
    let narrowest: f64 = wishes.iter().map(|wish| wish.narrowest).sum();
    let mut widths: Vec<f64> = if widest <= room {
        wishes.iter().map(|wish| wish.widest).collect()
    } else if narrowest <= room {
        squeeze(wishes, room)
    } else {
        // Long words are cut: the same limit for all columns, so that short ones stay whole.
        let limit = level(wishes, room);
        wishes.iter().map(|wish| wish.narrowest.min(limit)).collect()
    };
    let left: f64 = room - widths.iter().sum::<f64>();
    let shares: f64 = wishes.iter().map(|wish| f64::from(wish.share)).sum();
    if left > 0.0 && shares > 0.0 {
        grow(wishes, &mut widths, room);
    }
    widths
}

/// Each column between its widest word and its longest line, the long lines giving way first, and later where a column
/// has the larger share.
fn squeeze(wishes: &[Wish], room: f64) -> Vec<f64> {
    // The highest limit on the longest lines that fits the room.
    let (mut low, mut high) = (0.0, room);
    let least = wishes.iter().map(|wish| wish.share).filter(|share| *share > 0).min().unwrap_or(1);
    let width = |wish: &Wish, limit: f64| {
        let weight = f64::from(wish.share.max(least)) / f64::from(least);
        wish.widest.min((limit * weight).max(wish.narrowest))
    };
    let sum = |limit: f64| -> f64 { wishes.iter().map(|wish| width(wish, limit)).sum() };
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if sum(middle) <= room {
            low = middle;
        } else {
            high = middle;
        }
    }
    wishes.iter().map(|wish| width(wish, low)).collect()
}

/// The limit at which the widest words together just fit.
fn level(wishes: &[Wish], room: f64) -> f64 {
    let (mut low, mut high) = (0.0, room);
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if wishes.iter().map(|wish| wish.narrowest.min(middle)).sum::<f64>() <= room {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// Columns with a share take what the others leave, as near to their shares as their words allow.
fn grow(wishes: &[Wish], widths: &mut [f64], room: f64) {
    let fixed: f64 =
        wishes.iter().zip(widths.iter()).filter(|(wish, _)| wish.share == 0).map(|(_, width)| width).sum();
    let mut open: Vec<usize> = (0..wishes.len()).filter(|index| wishes[*index].share > 0).collect();
    let mut left = room - fixed;
    loop {
        let shares: f64 = open.iter().map(|index| f64::from(wishes[*index].share)).sum();
        let of = |index: usize| left * f64::from(wishes[index].share) / shares;
        let tight = open.iter().position(|index| of(*index) < wishes[*index].narrowest.min(widths[*index]));
        match tight {
            Some(place) => {
                let index = open.remove(place);
                widths[index] = wishes[index].narrowest.min(widths[index]);
                left -= widths[index];
            }
            None => {
                for index in &open {
                    widths[*index] = of(*index);
                }
                return;
            }
        }
        if open.is_empty() {
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Wish, widths};

    const fn wish(narrowest: f64, widest: f64) -> Wish {
        Wish { narrowest, widest, share: 0 }
    }

    #[track_caller]
    fn check(wishes: &[Wish], room: f64, expected: &[f64]) {
        let found: Vec<f64> = widths(wishes, room).iter().map(|width| width.round()).collect();
        assert_eq!(found, expected);
        assert!(widths(wishes, room).iter().sum::<f64>() <= room + 1e-6);
    }

    #[test]
    fn columns_with_room_are_as_wide_as_their_lines() {
        check(&[wish(10.0, 40.0), wish(10.0, 60.0)], 200.0, &[40.0, 60.0]);
    }

    #[test]
    fn the_longest_lines_give_way_first() {
        check(&[wish(10.0, 40.0), wish(20.0, 500.0)], 200.0, &[40.0, 160.0]);
    }

    #[test]
    fn a_larger_share_gives_way_later() {
        let long = |share| Wish { share, ..wish(10.0, 500.0) };
        check(&[wish(10.0, 30.0), long(1), long(3)], 200.0, &[30.0, 43.0, 128.0]);
    }

    #[test]
    fn a_word_too_wide_is_cut_and_the_short_ones_are_not() {
        check(&[wish(40.0, 40.0), wish(900.0, 900.0)], 200.0, &[40.0, 160.0]);
    }

    #[test]
    fn shares_fill_the_room() {
        let shared = |share| Wish { share, ..wish(10.0, 40.0) };
        check(&[wish(10.0, 50.0), shared(1), shared(2)], 200.0, &[50.0, 50.0, 100.0]);
    }
}
