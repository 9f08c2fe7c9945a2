//! Items that hang together: sets in which each item names another of its set,
//! the root itself (R. E. Tarjan, J. van Leeuwen, J. ACM 31(2), 1984).

/// The root of `x`, with the path halved on the way.
pub fn find(parent: &mut [u32], mut x: u32) -> u32 {
    while parent[x as usize] != x {
        parent[x as usize] = parent[parent[x as usize] as usize];
        x = parent[x as usize];
    }
    x
}

/// Joins two sets; the lower root stays root.
pub fn unite(parent: &mut [u32], a: u32, b: u32) {
    let (a, b) = (find(parent, a), find(parent, b));
    parent[a.max(b) as usize] = a.min(b);
}
