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

/// A column that is to be fitted in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToFit {
    /// Which column, from 0.
    pub column: usize,
    /// How wide it would like to be.
    pub width: f64,
    /// Whether its words may be broken.
    pub is_broken: bool,
    /// Whether it is filled in by hand: such columns stand in one line where they can.
    pub by_hand: bool,
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
    /// The columns, line by line: those that do not fit beside the others go on in a further line of each row.
    pub fn fit(&self, columns: &[ToFit]) -> Vec<Vec<Fitted>> {
        let mut lines: Vec<Vec<Fitted>> = vec![Vec::new()];
        let mut left = 0.0;
        for (at, of) in columns.iter().enumerate() {
            let left_over = self.width - left;
            let begins = lines.last().is_none_or(Vec::is_empty);
            let begins_what_is_by_hand = of.by_hand && at.checked_sub(1).is_none_or(|before| !columns[before].by_hand);
            let together = columns[at..].iter().take_while(|next| next.by_hand);
            let of_all = together.map(|next| next.width + self.gap).sum::<f64>() - self.gap;
            let width = if begins_what_is_by_hand { of_all } else { of.width };
            let stays = begins || width <= left_over || of.is_broken && left_over >= self.least;
            if !stays {
                lines.push(Vec::new());
                left = self.indent;
            }
            let width = of.width.min(self.width - left);
            if let Some(line) = lines.last_mut() {
                line.push(Fitted { column: of.column, left, width });
            }
            left += width + self.gap;
        }
        lines
    }
}
