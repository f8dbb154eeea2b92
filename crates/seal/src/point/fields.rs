//! Grids of textured films, made once for a band and its textures.

use std::sync::{Arc, Mutex, PoisonError};

use crate::film::{Cells, FieldGrid, FilmError};
use crate::model::{Texture, is_two_dimensional};
use crate::ring::BandNodes;

/// Cells on which the curve of the opening force is searched, and on which what it finds is settled and reported.
const SEARCH: Cells = Cells { per_interval: 1, columns: 20, most_columns: 80 };
const ANSWER: Cells = Cells { per_interval: 4, columns: 60, most_columns: 240 };

/// Both grids of one set of textures.
#[derive(Debug)]
pub struct FieldGrids {
    /// For the search.
    pub search: FieldGrid,
    /// For the answer.
    pub answer: FieldGrid,
}

/// Grids made so far, by their textures.
#[derive(Debug, Default)]
pub struct FieldStore {
    made: Mutex<Vec<(Vec<Texture>, Arc<FieldGrids>)>>,
}

impl FieldStore {
    /// The grids of textures on a band; none where nothing varies round the circumference.
    pub fn at(&self, textures: &[Texture], nodes: &BandNodes) -> Result<Option<Arc<FieldGrids>>, FilmError> {
        if !is_two_dimensional(textures) {
            return Ok(None);
        }
        // A panic in another thread leaves at most an entry missing, never a wrong one.
        let mut made = self.made.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, grids)) = made.iter().find(|(known, _)| known == textures) {
            return Ok(Some(grids.clone()));
        }
        let (search, answer) = (FieldGrid::new(textures, nodes, SEARCH)?, FieldGrid::new(textures, nodes, ANSWER)?);
        let Some(grids) = search.zip(answer).map(|(search, answer)| Arc::new(FieldGrids { search, answer })) else { return Ok(None) };
        made.push((textures.to_vec(), grids.clone()));
        Ok(Some(grids))
    }
}
