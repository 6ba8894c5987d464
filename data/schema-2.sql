-- Schema 2 of the book: when light may go on over a bath, of pieces when the last has been in it so
-- long; 0: not stated.

ALTER TABLE process_bath ADD COLUMN light_ms INTEGER NOT NULL DEFAULT 0 CHECK (light_ms >= 0);
