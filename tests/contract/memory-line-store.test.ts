import { openMemoryLineStore } from '../../src/adapters/memory/memory-line-store.js'
import { describeLineStore } from './line-store.contract.js'

describeLineStore('the memory store', () => openMemoryLineStore())
