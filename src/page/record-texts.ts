import { textsOf } from './texts.js'

/** Words of the list of records and of their correction. */
export const recordText = textsOf(
  {
    title: 'Records of work', none: 'No work is recorded here yet.', 'none-chosen': 'No record fits this choice.', shown: '{shown} of {total}', more: 'Show more', 'all-sections': 'All sections', 'all-works': 'All jobs', 'one-job': 'Records of the job {code}', 'not-only-job': 'Show all records', csv: 'As CSV', 'from-csv': 'Take from a table', 'csv-file': 'CSV file with the columns of the export', 'csv-taken': 'Taken: {taken}. Not taken: {refused}.', row: 'Row {row}', line: 'Line', section: 'Section', work: 'Job',
    found: 'As found', took: '{minutes} min', people: 'People', passes: 'Passes', parts: 'Parts, separated by commas', 'parts-used': 'Parts', lot: 'Lot', product: 'Product', washer: 'in the washing machine', surface: 'Surface measured by hand', deviation: 'Another product, because', check: 'Check afterward', passed: 'in order', failed: 'not in order', by: 'by', entered: 'entered', remark: 'Remark', photo: 'Photo', 'drop-photo': 'Leave the photo out', 'of-job': 'Job', when: 'When it was done',
    correct: 'Correct', 'correct-title': 'Correct: {title}', withdraw: 'Take back', close: 'Close', why: 'Why it is corrected', 'why-back': 'Why it is taken back', 'back-says': 'The record then counts as never having happened; it stays in the list with the reason. A job that it closed waits again.', send: 'Take back now', refused: 'Not taken', waits: 'Kept on this device, sent later.',
    withdrawn: 'Taken back: it does not count', history: 'Corrected ({count})', 'taken-back': 'taken back', corrected: 'corrected', 'it-said': 'before', nothing: 'nothing',
    'row.title': 'Job', 'row.time': 'Time', 'row.zone': 'Zone', records: 'Records of work', 'records-of-job': 'Records of this job',
  },
  {
    title: 'Registros de trabajo', none: 'Aún no hay trabajo anotado aquí.', 'none-chosen': 'Ningún registro corresponde a esta selección.', shown: '{shown} de {total}', more: 'Mostrar más', 'all-sections': 'Todas las secciones', 'all-works': 'Todos los trabajos', 'one-job': 'Registros del trabajo {code}', 'not-only-job': 'Mostrar todos', csv: 'En CSV', 'from-csv': 'Tomar de una tabla', 'csv-file': 'Archivo CSV con las columnas de la exportación', 'csv-taken': 'Tomados: {taken}. No tomados: {refused}.', row: 'Fila {row}', line: 'Línea', section: 'Sección', work: 'Trabajo',
    found: 'Cómo estaba', took: '{minutes} min', people: 'Personas', passes: 'Pasadas', parts: 'Piezas, separadas por comas', 'parts-used': 'Piezas', lot: 'Lote', product: 'Producto', washer: 'en la lavadora', surface: 'Superficie medida a mano', deviation: 'Otro producto, porque', check: 'Comprobación posterior', passed: 'está bien', failed: 'no está bien', by: 'por', entered: 'anotado', remark: 'Nota', photo: 'Foto', 'drop-photo': 'Quitar la foto', 'of-job': 'Trabajo', when: 'Cuándo se hizo',
    correct: 'Corregir', 'correct-title': 'Corregir: {title}', withdraw: 'Retirar', close: 'Cerrar', why: 'Por qué se corrige', 'why-back': 'Por qué se retira', 'back-says': 'El registro cuenta entonces como si nunca hubiera ocurrido; queda en la lista con el motivo. Un trabajo que cerró vuelve a esperar.', send: 'Retirar ahora', refused: 'No aceptado', waits: 'Guardado en este aparato, se envía después.',
    withdrawn: 'Retirado: no cuenta', history: 'Corregido ({count})', 'taken-back': 'retirado', corrected: 'corregido', 'it-said': 'antes', nothing: 'nada',
    'row.title': 'Trabajo', 'row.time': 'Hora', 'row.zone': 'Zona', records: 'Registros de trabajo', 'records-of-job': 'Registros de este trabajo',
  },
)
export type RecordWord = Parameters<typeof recordText>[1]
