//! The material list: lengths, fittings, boxes, wire, bedding, sod.
