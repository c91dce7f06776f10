//! What does an audition ask for? Pieces, cuts, tempi, scales, date, errata.
