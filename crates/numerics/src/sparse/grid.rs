//! Grid indices of a mesh of quadrilaterals, found by walking from element to element.
//!
//! Where the mesh is a bent or skewed grid, lines of constant index are its mesh lines, along which
//! cuts are short. Where it is none (three or five elements around a node) indices clash, which costs
//! work but no correctness.

/// Places of the nodes of an element: corners counter-clockwise, then the middles of the sides.
const PLACES: [[i32; 2]; 8] = [[-1, -1], [1, -1], [1, 1], [-1, 1], [0, -1], [1, 0], [0, 1], [-1, 0]];
/// Where the next element lies for a side that faces down, right, up, left.
const STEPS: [[i32; 2]; 4] = [[0, -1], [1, 0], [0, 1], [-1, 0]];
const NOWHERE: u32 = u32::MAX;

pub(super) struct Grid {
    /// Twice the indices of each element.
    pub(super) elements: Vec<[i32; 2]>,
    /// Indices of the nodes on the same scale.
    pub(super) nodes: Vec<[i32; 2]>,
}

/// An element met on the walk.
#[derive(Clone, Copy)]
struct Visit {
    element: usize,
    /// Quarter turns from the element's own axes to those of the grid.
    turns: usize,
}

/// Parts of the mesh that are not connected by sides are placed next to each other.
pub(super) fn grid_indices(nodes: usize, elements: &[[usize; 8]]) -> Grid {
    let across = sides(nodes, elements);
    let mut indices = vec![[0; 2]; elements.len()];
    let mut met = vec![false; elements.len()];
    let mut walk: Vec<Visit> = Vec::with_capacity(elements.len());
    let mut right_end = 0;
    for start in 0..elements.len() {
        if met[start] {
            continue;
        }
        let part = walk.len();
        met[start] = true;
        walk.push(Visit { element: start, turns: 0 });
        let mut next = part;
        while let Some(&Visit { element, turns }) = walk.get(next) {
            next += 1;
            for side in 0..4 {
                let facing = (side + turns) % 4;
                let [neighbour, its_side] = across[element][side];
                if neighbour == NOWHERE || met[neighbour as usize] {
                    continue;
                }
                let neighbour = neighbour as usize;
                met[neighbour] = true;
                indices[neighbour] = [indices[element][0] + STEPS[facing][0], indices[element][1] + STEPS[facing][1]];
                walk.push(Visit { element: neighbour, turns: (facing + 6 - its_side as usize) % 4 });
            }
        }
        let columns = walk[part..].iter().map(|visit| indices[visit.element][0]);
        let (least, greatest) = columns.fold((i32::MAX, i32::MIN), |(a, b), i| (a.min(i), b.max(i)));
        for visit in &walk[part..] {
            indices[visit.element][0] += right_end - least;
        }
        right_end += greatest - least + 1;
    }
    let mut grid = Grid { elements: indices.iter().map(|i| [2 * i[0], 2 * i[1]]).collect(), nodes: vec![[0; 2]; nodes] };
    for visit in &walk {
        let [i, j] = grid.elements[visit.element];
        for (&node, place) in elements[visit.element].iter().zip(PLACES) {
            let [a, b] = turned(place, visit.turns);
            grid.nodes[node] = [i + a, j + b];
        }
    }
    grid
}

fn turned([a, b]: [i32; 2], turns: usize) -> [i32; 2] {
    match turns {
        0 => [a, b],
        1 => [-b, a],
        2 => [-a, -b],
        _ => [b, -a],
    }
}

/// For each side of each element the element across it and that element's side.
fn sides(nodes: usize, elements: &[[usize; 8]]) -> Vec<[[u32; 2]; 4]> {
    let mut across = vec![[[NOWHERE; 2]; 4]; elements.len()];
    let mut waiting = vec![[NOWHERE; 2]; nodes];
    for (element, list) in elements.iter().enumerate() {
        for (side, &middle) in list[4..].iter().enumerate() {
            let own = [element as u32, side as u32];
            match std::mem::replace(&mut waiting[middle], own) {
                [NOWHERE, _] => (),
                other => {
                    across[element][side] = other;
                    across[other[0] as usize][other[1] as usize] = own;
                }
            }
        }
    }
    across
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two elements side by side, the second turned by a quarter.
    #[test]
    fn turned_elements_continue_the_grid() {
        let first = [0, 1, 2, 3, 4, 5, 6, 7];
        // Corners 1, 8, 9, 2; sides 10, 11, 12, 5; listed from corner 8.
        let second = [8, 9, 2, 1, 11, 12, 5, 10];
        let apart = [13, 14, 15, 16, 17, 18, 19, 20];
        let grid = grid_indices(21, &[first, second, apart]);
        assert_eq!(grid.elements, [[0, 0], [2, 0], [4, 0]]);
        assert_eq!(grid.nodes[8], [3, -1]);
        assert_eq!(grid.nodes[9], [3, 1]);
        assert_eq!(grid.nodes[12], [2, 1]);
        assert_eq!(grid.nodes[5], [1, 0]);
    }
}
