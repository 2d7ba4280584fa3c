//! Photographs and other pictures: how large they stand, and what is shown for a broken one.

use super::super::piece::Picture;
use super::flow::{Column, Flow};
use super::image::Image;
use super::inline::Inline;
use super::mark::{Area, Mark};
use super::palette::{QUIET, WASH};
use super::slab::{BandKind, Slab};
use super::structure::Role;
use super::voice::CAPTION;

impl Flow {
    pub(crate) fn picture(&mut self, picture: &Picture, column: &Column) {
        match Image::read(picture) {
            Some(image) => {
                let (width, height) = image.shown();
                // Two pixels a point is enough for print; larger pictures are scaled down to the column.
                let most = (column.width / width).min(self.frame.picture_depth() / height);
                let scale = most.min(0.5);
                let area = Area {
                    left: column.left,
                    top: 0.0,
                    right: column.left + width * scale,
                    bottom: height * scale,
                };
                self.begin_figure(&image.alt, column);
                let orientation = image.orientation;
                let mark = Mark::Image { picture: self.image(image), area, orientation };
                self.push(Slab {
                    height: area.bottom,
                    before: 8.0,
                    after: 8.0,
                    baseline: 8.0,
                    marks: vec![mark],
                    floats: column.bands.is_empty(),
                    bands: column.bands.clone(),
                    ..Slab::default()
                });
            }
            None => self.broken(&picture.alt, column),
        }
    }

    /// The place of a picture in the list; the same bytes are kept once.
    fn image(&mut self, image: Image) -> usize {
        let same = |known: &Image| known.format == image.format && known.bytes == image.bytes;
        match self.images.iter().position(same) {
            Some(place) => place,
            None => {
                self.images.push(image);
                self.images.len() - 1
            }
        }
    }

    /// What the picture would have shown, in a box.
    pub(crate) fn broken(&mut self, alt: &str, column: &Column) {
        let first = self.slabs.len();
        let mut bands = column.bands.clone();
        bands.extend(self.band(column, BandKind::Ground(WASH)));
        bands.extend(self.band(column, BandKind::Sides(QUIET)));
        self.begin(Role::Paragraph, column);
        let words = if alt.trim().is_empty() { "picture" } else { alt };
        let inner = column.inset(8.0, bands);
        let lines = self.lines(Inline::plain(words, CAPTION), CAPTION, inner.width - 8.0);
        self.text(lines, CAPTION, &inner);
        self.close_box(first, column, QUIET);
        self.space(first, 8.0, 8.0);
    }
}
