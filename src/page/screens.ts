import { ChartsScreen } from './charts-view.js'
import { OwnHistoryScreen } from './own-history-screen.js'
import type { Screen } from './screen.js'
import { SetupScreen } from './setup-screen.js'
import { ShiftScreen } from './shift-screen.js'

/** All screens, those of the row in its order. */
export const SCREENS: readonly Screen[] = [
  { view: 'shift', title: { 'en-US': 'This shift', es: 'Este turno' }, inRow: true, ofLine: false, component: ShiftScreen },
  { view: 'charts', title: { 'en-US': 'Charts', es: 'Gráficas' }, inRow: true, ofLine: true, component: ChartsScreen },
  { view: 'own-history', title: { 'en-US': 'Own history', es: 'Historial propio' }, inRow: true, ofLine: false, component: OwnHistoryScreen },
  { view: 'setup', title: { 'en-US': 'Set up', es: 'Configurar' }, inRow: true, ofLine: false, component: SetupScreen },
]
