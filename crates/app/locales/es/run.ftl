# Un lote en marcha: pronóstico nuevo, qué pasa si, interrupciones.
