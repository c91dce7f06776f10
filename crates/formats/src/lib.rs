//! How does a standard's bytes become a Piece and back? One folder per standard. Bytes in, `(Piece, findings)` out.
