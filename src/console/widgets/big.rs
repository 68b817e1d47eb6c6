//! Numbers in letters that can be read from across a room.

/// Rows and columns of a letter before it is enlarged.
const ROWS: usize = 5;
const COLUMNS: usize = 3;

/// Five rows of three dots each, the leftmost dot in the highest bit.
const fn dots(letter: char) -> [u8; ROWS] {
    match letter {
        '0' => [0b111, 0b101, 0b101, 0b101, 0b111],
        '1' => [0b010, 0b110, 0b010, 0b010, 0b111],
        '2' => [0b111, 0b001, 0b111, 0b100, 0b111],
        '3' => [0b111, 0b001, 0b111, 0b001, 0b111],
        '4' => [0b101, 0b101, 0b111, 0b001, 0b001],
        '5' => [0b111, 0b100, 0b111, 0b001, 0b111],
        '6' => [0b111, 0b100, 0b111, 0b101, 0b111],
        '7' => [0b111, 0b001, 0b010, 0b010, 0b010],
        '8' => [0b111, 0b101, 0b111, 0b101, 0b111],
        '9' => [0b111, 0b101, 0b111, 0b001, 0b111],
        '-' => [0b000, 0b000, 0b111, 0b000, 0b000],
        '.' => [0b000, 0b000, 0b000, 0b000, 0b010],
        _ => [0; ROWS],
    }
}

/// The text in rows of `ink` and blanks, as large as fits into the area; columns are counted twice, because a
/// character cell is about twice as high as wide. Empty if not even the smallest size fits.
pub(in crate::console) fn big(text: &str, columns: usize, rows: usize, ink: &str) -> Vec<String> {
    let letters = text.chars().count();
    // A gap of one dot between letters.
    let dots_across = (letters * (COLUMNS + 1)).saturating_sub(1).max(1);
    let (across, down) = (columns / dots_across, rows / ROWS);
    // Three cells across for two down come close to square dots and still leave a small screen its letters.
    let down = down.min(across.max(1));
    let across = across.min(down * 2);
    if across == 0 || down == 0 {
        return Vec::new();
    }
    (0..ROWS * down)
        .map(|y| {
            let row: Vec<String> = text
                .chars()
                .map(|letter| {
                    let bits = dots(letter)[y / down];
                    (0..COLUMNS)
                        .map(|x| {
                            let set = bits & (1 << (COLUMNS - 1 - x)) != 0;
                            if set { ink } else { " " }.repeat(across)
                        })
                        .collect()
                })
                .collect();
            row.join(&" ".repeat(across))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn letters_at_their_smallest() {
        assert_eq!(
            big("-1.", 11, 5, "#"),
            [
                "     #     ",
                "    ##     ",
                "###  #     ",
                "     #     ",
                "    ###  # ",
            ]
        );
    }

    #[test]
    fn digits_differ() {
        for a in '0'..='9' {
            for b in '0'..a {
                assert_ne!(dots(a), dots(b), "{a} {b}");
            }
        }
    }

    proptest! {
        #[test]
        fn never_larger_than_the_area(text in "[-0-9.]{0,7}", columns in 0usize..200, rows in 0usize..60) {
            let lines = big(&text, columns, rows, "#");
            prop_assert!(lines.len() <= rows);
            prop_assert!(lines.iter().all(|l| l.chars().count() <= columns));
        }
    }
}
