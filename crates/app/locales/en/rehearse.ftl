# Rehearsal on a virtual cabinet, and the demonstration workshop.
