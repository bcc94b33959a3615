//! Which of some numbered things hang together.

/// The first of those that one is joined to; `joined` holds for each one that it is joined to, itself at first.
pub(super) fn root(joined: &mut [u32], of: u32) -> u32 {
    let mut at = of;
    while joined[at as usize] != at {
        let up = joined[joined[at as usize] as usize];
        joined[at as usize] = up;
        at = up;
    }
    at
}

/// Joins two of them, and all that are joined to either.
pub(super) fn join(joined: &mut [u32], a: u32, b: u32) {
    let (a, b) = (root(joined, a), root(joined, b));
    joined[a.max(b) as usize] = a.min(b);
}
