# Ensayo en un gabinete virtual, y el taller de demostración.
