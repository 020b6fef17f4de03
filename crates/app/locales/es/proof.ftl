# La prueba en la aplicación web: archivos de registradores, dictámenes, firmas, calibración.
