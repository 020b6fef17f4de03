//! Nodes through a piece, fixed in the dry solids so that shrinkage moves no grid.

use crate::{Geometry, Material};

/// Share of the clustering towards the exchanging faces: 0 is even spacing, 1 a pure cosine.
const CLUSTERING: f64 = 0.5;

/// Nodes in solids co-ordinates, per square metre of initial face.
#[derive(Clone, Debug)]
pub(crate) struct Grid {
    pub nodes: usize,
    /// Dimensions: 1, 2, 3.
    pub dimensions: f64,
    /// Solids of each node's cell, kg/m2.
    pub cell: Vec<f64>,
    /// Solids between a node and the next, kg/m2.
    pub gap: Vec<f64>,
    /// Solids between the lower edge of a node's cell and the node, kg/m2.
    pub to_node: Vec<f64>,
    /// All solids, kg/m2.
    pub solids: f64,
    /// Outer half-size: depth of volume per face over dimensions, m (radius for round pieces).
    pub radius_m: f64,
}

impl Grid {
    pub fn new(material: &Material, nodes: usize) -> Self {
        let solids = material.solids_kg_per_m2();
        let d = material.geometry.dimensions();
        let place = |xi: f64| match material.geometry {
            Geometry::Slab => {
                (1.0 - CLUSTERING) * xi + CLUSTERING * 0.5 * (1.0 - (std::f64::consts::PI * xi).cos())
            }
            _ => (1.0 - CLUSTERING) * xi + CLUSTERING * (0.5 * std::f64::consts::PI * xi).sin(),
        };
        #[allow(clippy::cast_precision_loss)]
        let place: Vec<f64> = (0..nodes).map(|j| place(j as f64 / (nodes - 1) as f64)).collect();
        let at = |r: f64| solids * r.powf(d);
        let node: Vec<f64> = place.iter().map(|&r| at(r)).collect();
        let mut edge = vec![0.0];
        edge.extend(place.windows(2).map(|w| at(0.5 * (w[0] + w[1]))));
        edge.push(solids);
        Self {
            nodes,
            dimensions: d,
            cell: edge.windows(2).map(|e| e[1] - e[0]).collect(),
            gap: node.windows(2).map(|n| n[1] - n[0]).collect(),
            to_node: node.iter().zip(&edge).map(|(n, e)| n - e).collect(),
            solids,
            radius_m: if d > 1.0 { material.size_m / 2.0 } else { material.size_m },
        }
    }

    /// Index of the node nearest the middle of the solids (the centre of a round piece).
    pub fn middle(&self) -> usize {
        if self.dimensions > 1.0 { 0 } else { (self.nodes - 1) / 2 }
    }
}
