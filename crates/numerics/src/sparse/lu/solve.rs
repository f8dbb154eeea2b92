use super::super::SparseError;
use super::NOWHERE;
use super::factor::Lu;
use super::kernels::{Step, Substitute, SubstitutePatches};
use super::number::Number;
use super::patches::{Group, LANES};
use super::space::Aligned;
use super::symbolic::Front;

impl<K: Number> Lu<K> {
    /// Solves `A x = b` in place. `rhs` holds any number of right-hand sides one after the other; several at once
    /// cost less than one by one.
    ///
    /// # Errors
    /// A length that is no multiple of the number of unknowns; a factorisation that failed before.
    pub fn solve(&self, rhs: &mut [K]) -> Result<(), SparseError> {
        self.substitute(rhs, [Step::Forward, Step::Backward])
    }

    /// Solves `A^T x = b` in place, otherwise as [`Lu::solve`].
    ///
    /// # Errors
    /// As [`Lu::solve`].
    pub fn solve_transposed(&self, rhs: &mut [K]) -> Result<(), SparseError> {
        self.substitute(rhs, [Step::ForwardTransposed, Step::BackwardTransposed])
    }

    fn substitute(&self, rhs: &mut [K], [up, down]: [Step; 2]) -> Result<(), SparseError> {
        self.check(rhs)?;
        let unknowns = self.symbolic.unknowns();
        let count = rhs.len() / unknowns;
        let original = &self.symbolic.original;
        let patches = &self.symbolic.patches;
        let mut x = vec![K::ZERO; original.len() * count];
        for (x, rhs) in x.chunks_exact_mut(original.len().max(1)).zip(rhs.chunks_exact(unknowns)) {
            for (x, &unknown) in x.iter_mut().zip(original) {
                *x = rhs[unknown as usize];
            }
        }
        let mut inside = Aligned::zeros(patches.value_entries * count * LANES);
        let places = patches.shapes.iter().map(|shape| shape.steps.len()).max().unwrap_or(0);
        let mut lanes = Aligned::zeros(places * count * LANES);
        for group in &patches.groups {
            self.patches_up(group, up, rhs, &mut x, inside.get_mut(), lanes.get_mut());
        }
        let mut space = Vec::new();
        for front in self.symbolic.fronts.iter().filter(|front| front.patch.is_none()) {
            self.up(front, up, &mut x, &mut space);
        }
        for front in self.symbolic.fronts.iter().rev().filter(|front| front.patch.is_none()) {
            self.down(front, down, &mut x, &mut space);
        }
        for group in &patches.groups {
            self.patches_down(group, down, rhs, &x, inside.get(), lanes.get_mut());
        }
        for (x, rhs) in x.chunks_exact(original.len().max(1)).zip(rhs.chunks_exact_mut(unknowns)) {
            for (x, &unknown) in x.iter().zip(original) {
                rhs[unknown as usize] = *x;
            }
        }
        Ok(())
    }

    /// From the nodes inside the patches of a group to those around them.
    fn patches_up(&self, group: &Group, step: Step, rhs: &[K], x: &mut [K], inside: &mut [K], lanes: &mut [K]) {
        let symbolic = &self.symbolic;
        let shape = symbolic.patches.shape(group);
        let count = rhs.len() / symbolic.unknowns();
        let values = &mut lanes[..shape.steps.len() * count * LANES];
        let length = shape.steps.len() * LANES;
        for (values, rhs) in values.chunks_exact_mut(length).zip(rhs.chunks_exact(symbolic.unknowns())) {
            let (own, around) = values.split_at_mut(shape.inside * LANES);
            for (value, &node) in own.iter_mut().zip(group.nodes.as_flattened()) {
                *value = if node == NOWHERE { K::ZERO } else { rhs[node as usize] };
            }
            around.fill(K::ZERO);
        }
        self.patches_step(group, step, values);
        let kept = inside[group.values * count * LANES..].chunks_exact_mut(shape.inside * LANES);
        let x = x.chunks_exact_mut(symbolic.original.len().max(1));
        for ((values, kept), x) in values.chunks_exact(length).zip(kept).zip(x) {
            let (own, around) = values.split_at(shape.inside * LANES);
            kept.copy_from_slice(own);
            for (value, &position) in around.iter().zip(group.around.as_flattened()) {
                if position != NOWHERE {
                    x[position as usize] += *value;
                }
            }
        }
    }

    /// From the nodes around the patches of a group to those inside them.
    fn patches_down(&self, group: &Group, step: Step, rhs: &mut [K], x: &[K], inside: &[K], lanes: &mut [K]) {
        let symbolic = &self.symbolic;
        let shape = symbolic.patches.shape(group);
        let count = rhs.len() / symbolic.unknowns();
        let values = &mut lanes[..shape.steps.len() * count * LANES];
        let length = shape.steps.len() * LANES;
        let kept = inside[group.values * count * LANES..].chunks_exact(shape.inside * LANES);
        let x = x.chunks_exact(symbolic.original.len().max(1));
        for ((values, kept), x) in values.chunks_exact_mut(length).zip(kept).zip(x) {
            let (own, around) = values.split_at_mut(shape.inside * LANES);
            own.copy_from_slice(kept);
            for (value, &position) in around.iter_mut().zip(group.around.as_flattened()) {
                *value = if position == NOWHERE { K::ZERO } else { x[position as usize] };
            }
        }
        self.patches_step(group, step, values);
        for (values, rhs) in values.chunks_exact(length).zip(rhs.chunks_exact_mut(symbolic.unknowns())) {
            for (value, &node) in values[..shape.inside * LANES].iter().zip(group.nodes.as_flattened()) {
                if node != NOWHERE {
                    rhs[node as usize] = *value;
                }
            }
        }
    }

    fn patches_step(&self, group: &Group, step: Step, values: &mut [K]) {
        let shape = self.symbolic.patches.shape(group);
        let panel = &self.patch_panels.get()[group.panel * LANES..][..shape.panel_entries * LANES];
        SubstitutePatches { step, shape, panel, values }.run(self.arch);
    }

    /// From the pivots of a front to its boundary.
    fn up(&self, front: &Front, step: Step, x: &mut [K], space: &mut Vec<K>) {
        let own = front.first..front.first + front.pivots;
        space.clear();
        for x in x.chunks_exact(self.symbolic.original.len()) {
            space.extend_from_slice(&x[own.clone()]);
            space.resize(space.len() + front.stride(), K::ZERO);
        }
        self.step(front, step, space);
        for (x, values) in x.chunks_exact_mut(self.symbolic.original.len()).zip(space.chunks_exact(front.rows())) {
            let (pivots, rest) = values.split_at(front.pivots);
            x[own.clone()].copy_from_slice(pivots);
            for (&position, value) in self.symbolic.boundary(front).iter().zip(rest) {
                x[position as usize] += *value;
            }
        }
    }

    /// From the boundary of a front to its pivots.
    fn down(&self, front: &Front, step: Step, x: &mut [K], space: &mut Vec<K>) {
        let own = front.first..front.first + front.pivots;
        let padding = front.stride() - front.boundary.len();
        space.clear();
        for x in x.chunks_exact(self.symbolic.original.len()) {
            space.extend_from_slice(&x[own.clone()]);
            space.extend(self.symbolic.boundary(front).iter().map(|&position| x[position as usize]));
            space.resize(space.len() + padding, K::ZERO);
        }
        self.step(front, step, space);
        for (x, values) in x.chunks_exact_mut(self.symbolic.original.len()).zip(space.chunks_exact(front.rows())) {
            x[own.clone()].copy_from_slice(&values[..front.pivots]);
        }
    }

    fn step(&self, front: &Front, step: Step, values: &mut [K]) {
        let (rows, pivots) = (front.rows(), front.pivots);
        let (left, right) = self.panels[front.panel..][..front.panel_entries()].split_at(rows * pivots);
        Substitute { step, left, right, rows, pivots, values }.run(self.arch);
    }
}
