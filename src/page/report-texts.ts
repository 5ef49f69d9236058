import { textsOf } from './texts.js'

const EN = {
  title: 'Report',
  intro: 'Each report is one page that prints on A4 and Letter. Names of people are left out.',
  kind: 'For',
  'kind.hand-over': 'Hand-over of the shift',
  'kind.week': 'Weekly meeting',
  'kind.audit': 'Evidence for an audit',
  line: 'Line',
  'all-lines': 'All lines',
  from: 'From',
  until: 'Until',
  usual: 'Empty: last shift, last week, or last 90 days.',
  language: 'Language',
  open: 'Open to print',
  csv: 'Table (CSV)',
  preview: 'Preview of the report',
}

const ES: Record<keyof typeof EN, string> = {
  title: 'Informe',
  intro: 'Cada informe es una página que se imprime en A4 y Carta. Los nombres de personas se omiten.',
  kind: 'Para',
  'kind.hand-over': 'Relevo del turno',
  'kind.week': 'Reunión semanal',
  'kind.audit': 'Evidencias para una auditoría',
  line: 'Línea',
  'all-lines': 'Todas las líneas',
  from: 'Desde',
  until: 'Hasta',
  usual: 'Vacío: último turno, última semana o últimos 90 días.',
  language: 'Idioma',
  open: 'Abrir para imprimir',
  csv: 'Tabla (CSV)',
  preview: 'Vista previa del informe',
}

/** Words of the report's screen. */
export const reportScreenText = textsOf<keyof typeof EN>(EN, ES)
