# Ensayos de productos, isotermas, aprender de los lotes, trasladar una receta.
