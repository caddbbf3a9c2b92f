//! A path cut where the kind of ground changes.

use crate::candidates::length;
use geo::Coord;
use ground::{Ground, StretchGround};
use quantity::Length;

/// A part of a path in one kind of ground.
#[derive(Debug, Clone)]
pub struct Piece {
    /// Its places, both ends included.
    pub path: Vec<Coord>,
    /// The ground.
    pub ground: StretchGround,
}

impl Piece {
    /// Metres along it.
    pub fn length(&self) -> f64 {
        self.path.windows(2).map(|p| length(p[1] - p[0])).sum()
    }

    /// Whether one who digs here takes all the care that the other piece asks for. What room a
    /// machine has to stand does not count over so short a length: its boom or blade reaches beyond
    /// its body.
    fn is_as_careful_as(&self, other: &Self) -> bool {
        let (a, b) = (&self.ground, &other.ground);
        b.zones.iter().all(|zone| a.zones.contains(zone))
            && !a.surface.is_paved()
            && !b.surface.is_paved()
    }
}

/// The path cut into pieces, each in one kind of ground.
pub fn pieces_along(ground: &Ground, path: &[Coord]) -> Vec<Piece> {
    let mut pieces: Vec<(Piece, ground::Class)> = Vec::new();
    for pair in path.windows(2) {
        for span in ground.spans(pair[0], pair[1]) {
            let at = |t: f64| pair[0] + (pair[1] - pair[0]) * t;
            match pieces.last_mut() {
                Some((piece, class)) if *class == span.class => piece.path.push(at(span.to)),
                _ => {
                    let described = ground.describe(&span.class, at((span.from + span.to) / 2.0));
                    let path = vec![at(span.from), at(span.to)];
                    pieces.push((
                        Piece {
                            path,
                            ground: described,
                        },
                        span.class,
                    ));
                }
            }
        }
    }
    let pieces = pieces.into_iter().map(|(piece, _)| piece).collect();
    let pieces: Vec<Piece> = join_under_paving(pieces);
    pieces.into_iter().map(with_bends_only).collect()
}

/// What lies beside the paving makes no difference under it: one sleeve, in the ground of its
/// longest piece.
fn join_under_paving(pieces: Vec<Piece>) -> Vec<Piece> {
    let mut joined: Vec<(Piece, f64)> = Vec::new();
    for piece in pieces {
        let length = piece.length();
        match joined.last_mut() {
            Some((before, longest))
                if before.ground.surface.is_paved()
                    && before.ground.surface_id == piece.ground.surface_id =>
            {
                before.path.extend(piece.path.into_iter().skip(1));
                if length > *longest {
                    (before.ground, *longest) = (piece.ground, length);
                }
            }
            _ => joined.push((piece, length)),
        }
    }
    joined.into_iter().map(|(piece, _)| piece).collect()
}

/// Spans of one class that meet within a straight line leave a place that is no bend.
fn with_bends_only(mut piece: Piece) -> Piece {
    let path = std::mem::take(&mut piece.path);
    for (i, here) in path.iter().enumerate() {
        let bend = i == 0 || i + 1 == path.len() || {
            let (before, after) = (path[i - 1], path[i + 1]);
            let (u, v) = (*here - before, after - *here);
            (u.x * v.y - u.y * v.x).abs() > 1e-6 * length(u) * length(v)
        };
        if bend {
            piece.path.push(*here);
        }
    }
    piece
}

/// Gives short pieces to a neighbour that is dug with at least as much care; a short piece more
/// careful than its neighbours stays.
pub fn absorb_short(mut pieces: Vec<Piece>, shortest: Length) -> Vec<Piece> {
    loop {
        let taker = |pieces: &[Piece], i: usize| -> Option<usize> {
            let before = i.checked_sub(1);
            let after = (i + 1 < pieces.len()).then_some(i + 1);
            let fits = |j: &usize| pieces[*j].is_as_careful_as(&pieces[i]);
            let mut takers: Vec<usize> = before.into_iter().chain(after).filter(fits).collect();
            takers.sort_by(|a, b| pieces[*b].length().total_cmp(&pieces[*a].length()));
            takers.first().copied()
        };
        let found = (0..pieces.len())
            .filter(|i| pieces[*i].length() < shortest.to_m())
            .find_map(|i| taker(&pieces, i).map(|j| (i, j)));
        let Some((short, taker)) = found else {
            return pieces;
        };
        let removed = pieces.remove(short);
        let taker = if taker > short { taker - 1 } else { taker };
        let path = &mut pieces[taker].path;
        if taker < short {
            path.extend(removed.path.into_iter().skip(1));
        } else {
            let mut joined = removed.path;
            joined.extend(path.iter().skip(1));
            *path = joined;
        }
    }
}
