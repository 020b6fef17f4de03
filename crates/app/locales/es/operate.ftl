# El propio programa: copias, tiempos fuera de servicio, disco, anotaciones sin conexión.
