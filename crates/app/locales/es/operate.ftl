### Cuidar de la herramienta: cuándo estuvo apagada, copias, espacio, archivos abiertos, anotaciones sin servidor
ops-title = Copias y mantenimiento
ops-minutes = { $count ->
    [one] 1 minuto
   *[other] { $count } minutos
}
ops-hours = { $count ->
    [one] 1 hora
   *[other] { $count } horas
}
ops-days = { $count ->
    [one] 1 día
   *[other] { $count } días
}

## El programa estuvo apagado
ops-off-title = Cuándo estuvo apagado este programa
ops-off-question = Este programa estuvo apagado de { $from } a { $to }. ¿También se apagó la secadora?
ops-off-more = En ese tiempo no se registró nada. Un corte de luz apaga las dos; hay que juzgar lo que le hizo al producto.
ops-off-yes = Sí, o no sé: anotar la interrupción
ops-off-no = No, la secadora siguió
ops-off-none = Nunca en los últimos 14 días.
ops-clock-back = El reloj de esta máquina se atrasó { $time }
ops-clock-back-more = Las horas de lo que se anote pueden estar mal. Ponga el reloj en hora y vuelva a arrancar el programa.

## Copias
ops-backups = Copias de seguridad
ops-backup-unset = No hay un segundo lugar para las copias. Si este disco falla, se pierden todos los registros.
ops-backup-none = Todavía no hay ninguna copia.
ops-backup-fault = No hay copia: la carpeta no se puede usar.
ops-backup-age = Última copia hace { $time }.
ops-backup-fault-age = El último intento falló. Última copia hace { $time }.
ops-backup-same-disk = Parece el mismo disco de los registros. Si falla, se pierden los dos. Use una carpeta en otro disco, una memoria USB u otra máquina.
ops-backup-folder = Carpeta para las copias, en esta máquina
ops-backup-folder-more = En otro disco, con la ruta completa. Cada día se hace una copia mientras el programa está en marcha; se guardan las últimas 60.
ops-backup-folder-save = Usar esta carpeta
ops-backup-now = Hacer una copia ahora
ops-backup-done = Copia hecha: { $entries } anotaciones, en { $place }
ops-restore-more = Una copia se repone en la misma máquina, con la orden
ops-copy-failed = No se hizo. { $why }
ops-folder-relative = Escriba la ruta completa de la carpeta, desde el principio.

## Espacio
ops-room = Espacio en los discos
ops-room-records = Registros: { $free } libres de { $all }
ops-room-backups = Copias: { $free } libres de { $all }
ops-room-unknown = El sistema no dice cuánto espacio queda.
ops-room-low = Solo quedan { $free } libres en el disco de los registros. Haga espacio esta semana.
ops-room-low-backup = Solo quedan { $free } libres en el disco de las copias. Haga espacio esta semana.
ops-room-urgent = Disco casi lleno: quedan { $free }
ops-room-urgent-more = Haga espacio ahora. Cuando se llene no se podrá guardar nada, y la página lo dirá; entonces escriba en papel.
ops-place = Los registros están en

## Archivos abiertos
ops-open-files = Todo en archivos abiertos
ops-open-files-more = Cada registro como texto que se lee sin ningún programa, con los archivos en que se apoya. Al escribirlos se comprueban los sellos.
ops-export = Sacar todo a archivos
ops-export-folder = Carpeta nueva, en esta máquina
ops-export-more = No debe existir todavía. Aquí no se cambia nada.
ops-export-done = Sacado: { $entries } anotaciones, a { $place }
ops-import = Leer lo que se sacó
ops-import-folder = Carpeta de lo que se sacó, en esta máquina
ops-import-more = Primero se comprueba todo. Lo que ya está aquí se queda; lo que se apartó de ello se rechaza.
ops-import-done = Leído: { $entries } anotaciones nuevas, de { $place }

## Conservación
ops-keeping = Cuánto tiempo se guardan los registros
ops-keeping-none = Ningún registro pasó su tiempo de conservación.
ops-keeping-due = El tiempo de conservación de estos registros terminó. Nada se borra solo.
ops-keeping-until = guardar hasta { $day }

## Anotaciones mientras no hay servidor
ops-queue-title = Anotaciones en este aparato
ops-queue-away = No se alcanza el servidor. Esta página es de las { $time }.
ops-queue-waiting = Esperan en este aparato: { $number }. Todavía no están en el registro; deje abierta esta página.
ops-queue-other = Algunas las hizo otra persona, que debe volver a entrar aquí.
ops-queue-full = Este aparato no puede guardar la anotación. Escríbala en papel.
ops-queue-discard = Descartar
ops-queue-promise = Una página abierta guarda lo que se anota mientras no se alcanza el servidor: cada cosa con su hora, entregada una sola vez y en orden. No está en el registro hasta que la página lo diga.
ops-queue-https = Cerrar o recargar la página mientras no hay servidor solo es seguro con conexión cifrada (https).
ops-queue-no-script = Sin script esta página no guarda nada: lo que no encuentre servidor se pierde. Escríbalo en papel.
