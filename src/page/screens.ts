import { BaselinesScreen } from './baseline-screen.js'
import { ChangesScreen } from './changes-screen.js'
import { ChartsScreen } from './charts-view.js'
import { CostScreen } from './cost-screen.js'
import { HoldScreen } from './hold-screen.js'
import { IntervalScreen } from './interval-screen.js'
import { LinesScreen } from './lines-screen.js'
import { OwnHistoryScreen } from './own-history-screen.js'
import { PlanScreen } from './plan-screen.js'
import { ReportScreen } from './report-screen.js'
import { JobScreen } from './job-card.js'
import { RecordsScreen } from './record-screen.js'
import type { Screen } from './screen.js'
import { SetupScreen } from './setup-screen.js'
import { ShiftScreen } from './shift-screen.js'
import { StartUpScreen } from './start-up-screen.js'
import { SuggestionScreen } from './suggestion-screen.js'
import { WallScreen } from './wall-screen.js'

/** All screens, those of the row in its order. */
export const SCREENS: readonly Screen[] = [
  { view: 'shift', title: { 'en-US': 'This shift', es: 'Este turno' }, inRow: true, ofLine: false, gloves: true, component: ShiftScreen },
  { view: 'lines', title: { 'en-US': 'Lines', es: 'Líneas' }, inRow: true, ofLine: false, component: LinesScreen },
  { view: 'job', title: { 'en-US': 'Job', es: 'Trabajo' }, inRow: false, ofLine: false, gloves: true, component: JobScreen },
  { view: 'suggestion', title: { 'en-US': 'Suggestion', es: 'Sugerencia' }, inRow: false, ofLine: false, gloves: true, component: SuggestionScreen },
  { view: 'records', title: { 'en-US': 'Records of work', es: 'Registros de trabajo' }, inRow: false, ofLine: true, gloves: true, component: RecordsScreen },
  { view: 'charts', title: { 'en-US': 'Charts', es: 'Gráficas' }, inRow: true, ofLine: true, component: ChartsScreen },
  { view: 'baselines', title: { 'en-US': 'Baselines', es: 'Líneas base' }, inRow: false, ofLine: true, component: BaselinesScreen },
  { view: 'plan', title: { 'en-US': 'Plan', es: 'Plan' }, inRow: true, ofLine: false, component: PlanScreen },
  { view: 'cost', title: { 'en-US': 'Cost', es: 'Coste' }, inRow: true, ofLine: false, component: CostScreen },
  { view: 'report', title: { 'en-US': 'Report', es: 'Informe' }, inRow: true, ofLine: false, component: ReportScreen },
  { view: 'wall', title: { 'en-US': 'Wall screen', es: 'Pantalla de pared' }, inRow: false, ofLine: false, component: WallScreen },
  { view: 'own-history', title: { 'en-US': 'Own history', es: 'Historial propio' }, inRow: true, ofLine: false, component: OwnHistoryScreen },
  { view: 'setup', title: { 'en-US': 'Set up', es: 'Configurar' }, inRow: true, ofLine: false, component: SetupScreen },
  { view: 'changes', title: { 'en-US': 'What changed?', es: '¿Qué cambió?' }, inRow: false, ofLine: true, component: ChangesScreen },
  { view: 'hold', title: { 'en-US': 'Settings on hold', es: 'Ajustes en espera' }, inRow: false, ofLine: true, gloves: true, component: HoldScreen },
  { view: 'start-up', title: { 'en-US': 'Start-up', es: 'Arranque' }, inRow: false, ofLine: true, gloves: true, component: StartUpScreen },
  { view: 'intervals', title: { 'en-US': 'Intervals and proof', es: 'Intervalos y pruebas' }, inRow: false, ofLine: true, component: IntervalScreen },
]
