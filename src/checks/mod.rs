//! What a careful eye would remark about the pictures themselves: sharpness, exposure, cast, twins.
//! Owns the measures and their thresholds; refuses to decide what becomes of a photo.
