//! Sheets of triangles over a square.

/// Corners of a sheet of `n` × `n` squares, row by row along y, each square cut in two.
pub(crate) fn sheet(
    n: u32,
    mut corner: impl FnMut(u32, u32) -> [f64; 3],
) -> (Vec<[f64; 3]>, Vec<Vec<u32>>) {
    let mut corners = Vec::with_capacity(((n + 1) * (n + 1)) as usize);
    for x in 0..=n {
        corners.extend((0..=n).map(|y| corner(x, y)));
    }
    let mut faces = Vec::with_capacity((2 * n * n) as usize);
    for x in 0..n {
        for y in 0..n {
            let a = x * (n + 1) + y;
            faces.push(vec![a, a + n + 1, a + n + 2]);
            faces.push(vec![a, a + n + 2, a + 1]);
        }
    }
    (corners, faces)
}
