//! Which columns of a table stand beside each other, where the paper is narrower than all of them.

/// The paper, in whatever its width is measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paper {
    /// How wide it is.
    pub width: f64,
    /// What is left free between two columns.
    pub gap: f64,
    /// How far in from the left edge the further lines of a row begin.
    pub indent: f64,
    /// The least width in which words are broken.
    pub least: f64,
}

/// Where a column stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted {
    /// Which column, from 0.
    pub column: usize,
    /// Its left edge.
    pub left: f64,
    /// How wide it is.
    pub width: f64,
}

impl Paper {
    /// The columns, line by line: those that do not fit beside the others go on in a further line of each row. `columns` has the
    /// width of each, and whether its words may be broken.
    pub fn fit(&self, columns: impl IntoIterator<Item = (f64, bool)>) -> Vec<Vec<Fitted>> {
        let mut lines: Vec<Vec<Fitted>> = vec![Vec::new()];
        let mut left = 0.0;
        for (column, (width, is_broken)) in columns.into_iter().enumerate() {
            let left_over = self.width - left;
            let begins = lines.last().is_none_or(Vec::is_empty);
            let stays = begins || width <= left_over || is_broken && left_over >= self.least;
            if !stays {
                lines.push(Vec::new());
                left = self.indent;
            }
            let width = width.min(self.width - left);
            if let Some(line) = lines.last_mut() {
                line.push(Fitted { column, left, width });
            }
            left += width + self.gap;
        }
        lines
    }
}
