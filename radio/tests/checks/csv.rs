//! Rows of a comma-separated file with quotes.

/// One worked value.
pub struct Row {
    pub id: String,
    pub quantity: String,
    pub inputs: String,
    pub expected: String,
    pub tolerance: f64,
}

impl Row {
    /// The number given for `key` in "key=value;key=value".
    pub fn number(&self, key: &str) -> f64 {
        let given = self
            .inputs
            .split(';')
            .find_map(|pair| pair.strip_prefix(key)?.strip_prefix('='));
        given
            .and_then(|text| text.parse().ok())
            .unwrap_or_else(|| panic!("{}: no number {key:?}", self.id))
    }

    /// The tolerance, and half a unit of the last digit that the file prints of the expected value.
    pub fn slack(&self) -> f64 {
        let decimals = self
            .expected
            .split_once('.')
            .map_or(0, |(_, digits)| digits.len());
        self.tolerance
            .max(0.5 * 10_f64.powi(-(decimals as i32)) * f64::from(u8::from(decimals > 0)))
    }

    /// "x:y;x:y" as pairs.
    pub fn pairs(&self) -> Vec<(f64, f64)> {
        let pair = |text: &str| -> Option<(f64, f64)> {
            let (x, y) = text.split_once(':')?;
            Some((x.parse().ok()?, y.parse().ok()?))
        };
        self.inputs
            .split(';')
            .map(|text| pair(text).expect("a pair"))
            .collect()
    }
}

pub fn parse(text: &str) -> Vec<Row> {
    text.lines()
        .skip(1)
        .map(|line| {
            let cells = cells(line);
            Row {
                id: cells[0].clone(),
                quantity: cells[1].clone(),
                inputs: cells[2].clone(),
                expected: cells[3].clone(),
                tolerance: cells[4].parse().expect("a tolerance"),
            }
        })
        .collect()
}

fn cells(line: &str) -> Vec<String> {
    let (mut cells, mut quoted) = (vec![String::new()], false);
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            c => cells.last_mut().expect("a cell").push(c),
        }
    }
    cells
}
