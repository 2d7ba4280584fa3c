//! Fewer pixels out of many, row by row, each the exact mean of what it covers.

/// A picture in rows from the top.
pub(super) struct Pixels {
    pub(super) width: u32,
    pub(super) height: u32,
    /// 1 grey, 2 grey with what shines through, 3 colour, 4 colour with that.
    pub(super) samples: usize,
    pub(super) data: Vec<u8>,
}

/// Takes the rows of a picture and makes those of a smaller one.
pub(super) struct Shrink {
    from: (u64, u64),
    to: (u64, u64),
    samples: usize,
    taken: u64,
    /// The row that is being made: sums of samples times the area that they cover of it.
    sums: Vec<u64>,
    across: Vec<u64>,
    data: Vec<u8>,
}

impl Shrink {
    /// `to` is no larger than `from` on either side.
    pub(super) fn new(from: (u32, u32), to: (u32, u32), samples: usize) -> Shrink {
        let row = to.0 as usize * samples;
        Shrink {
            from: (from.0.into(), from.1.into()),
            to: (to.0.into(), to.1.into()),
            samples,
            taken: 0,
            sums: vec![0; row],
            across: vec![0; row],
            data: Vec::with_capacity(row * to.1 as usize),
        }
    }

    /// A pixel of the old row is `to.0` wide, one of the new row `from.0`; both rows are as long.
    pub(super) fn row(&mut self, row: &[u8]) {
        let (samples, from, to) = (self.samples, self.from, self.to);
        self.across.fill(0);
        let (mut place, mut room) = (0, from.0);
        for pixel in row.chunks_exact(samples).take(from.0 as usize) {
            let first = to.0.min(room);
            add(&mut self.across[place..place + samples], pixel, first);
            room -= first;
            if room == 0 {
                (place, room) = (place + samples, from.0);
                let rest = to.0 - first;
                if rest > 0 {
                    add(&mut self.across[place..place + samples], pixel, rest);
                    room -= rest;
                }
            }
        }
        let begin = self.taken * to.1;
        let room = from.1 - begin % from.1;
        let first = to.1.min(room);
        self.lay(first);
        if first == room {
            let area = from.0 * from.1;
            self.data.extend(self.sums.iter().map(|sum| ((sum + area / 2) / area) as u8));
            self.sums.fill(0);
            self.lay(to.1 - first);
        }
        self.taken += 1;
    }

    fn lay(&mut self, height: u64) {
        for (sum, across) in self.sums.iter_mut().zip(&self.across) {
            *sum += across * height;
        }
    }

    /// What was made; rows that never came are black.
    pub(super) fn pixels(mut self) -> Pixels {
        self.data.resize(self.sums.len() * self.to.1 as usize, 0);
        Pixels { width: self.to.0 as u32, height: self.to.1 as u32, samples: self.samples, data: self.data }
    }
}

fn add(sums: &mut [u64], pixel: &[u8], width: u64) {
    for (sum, sample) in sums.iter_mut().zip(pixel) {
        *sum += u64::from(*sample) * width;
    }
}

impl Pixels {
    /// Without what shines through: the paper is white.
    pub(super) fn on_white(self) -> Pixels {
        let colours = match self.samples {
            2 => 1,
            4 => 3,
            _ => return self,
        };
        let pixels = self.data.chunks_exact(self.samples);
        let data = pixels.flat_map(|pixel| {
            let cover = u32::from(pixel[colours]);
            pixel[..colours]
                .iter()
                .map(move |sample| ((u32::from(*sample) * cover + 255 * (255 - cover) + 127) / 255) as u8)
        });
        Pixels { data: data.collect(), samples: colours, ..self }
    }

    /// The right way up (Exif 2.32, 4.6.4 A).
    pub(super) fn turned(self, orientation: u8) -> Pixels {
        let (width, height) = (self.width as usize, self.height as usize);
        let (wide, high) = if orientation >= 5 { (height, width) } else { (width, height) };
        if !(2..=8).contains(&orientation) {
            return self;
        }
        let mut data = Vec::with_capacity(self.data.len());
        for y in 0..high {
            for x in 0..wide {
                let (from_x, from_y) = match orientation {
                    2 => (width - 1 - x, y),
                    3 => (width - 1 - x, height - 1 - y),
                    4 => (x, height - 1 - y),
                    5 => (y, x),
                    6 => (y, height - 1 - x),
                    7 => (width - 1 - y, height - 1 - x),
                    _ => (width - 1 - y, x),
                };
                let at = (from_y * width + from_x) * self.samples;
                data.extend_from_slice(&self.data[at..at + self.samples]);
            }
        }
        Pixels { width: wide as u32, height: high as u32, data, ..self }
    }
}

#[cfg(test)]
mod tests {
    use super::{Pixels, Shrink};

    fn shrunk(from: (u32, u32), to: (u32, u32), data: &[u8]) -> Vec<u8> {
        let mut shrink = Shrink::new(from, to, 1);
        data.chunks(from.0 as usize).for_each(|row| shrink.row(row));
        shrink.pixels().data
    }

    #[test]
    fn each_pixel_is_the_mean_of_what_it_covers() {
        assert_eq!(shrunk((4, 2), (2, 1), &[0, 10, 20, 30, 40, 50, 60, 70]), [25, 45]);
        // 3 → 2: the one in the middle counts half on either side.
        assert_eq!(shrunk((3, 1), (2, 1), &[0, 90, 180]), [30, 150]);
        assert_eq!(shrunk((1, 3), (1, 2), &[0, 90, 180]), [30, 150]);
        assert_eq!(shrunk((2, 2), (2, 2), &[1, 2, 3, 4]), [1, 2, 3, 4]);
        assert_eq!(shrunk((7, 5), (3, 2), &[200; 35]), [200; 6]);
    }

    #[test]
    fn a_picture_is_turned_the_right_way_up() {
        // Orientation 6: the first row as stored is the right-hand side as shown.
        let turned = |orientation| {
            let pixels = Pixels { width: 3, height: 2, samples: 1, data: vec![1, 2, 3, 4, 5, 6] };
            let turned = pixels.turned(orientation);
            (turned.width, turned.data)
        };
        assert_eq!(turned(1), (3, vec![1, 2, 3, 4, 5, 6]));
        assert_eq!(turned(2), (3, vec![3, 2, 1, 6, 5, 4]));
        assert_eq!(turned(3), (3, vec![6, 5, 4, 3, 2, 1]));
        assert_eq!(turned(4), (3, vec![4, 5, 6, 1, 2, 3]));
        assert_eq!(turned(5), (2, vec![1, 4, 2, 5, 3, 6]));
        assert_eq!(turned(6), (2, vec![4, 1, 5, 2, 6, 3]));
        assert_eq!(turned(7), (2, vec![6, 3, 5, 2, 4, 1]));
        assert_eq!(turned(8), (2, vec![3, 6, 2, 5, 1, 4]));
    }

    #[test]
    fn what_shines_through_stands_on_white() {
        let pixels = Pixels { width: 3, height: 1, samples: 2, data: vec![0, 255, 0, 0, 100, 128] };
        assert_eq!(pixels.on_white().data, [0, 255, 177]);
    }
}
