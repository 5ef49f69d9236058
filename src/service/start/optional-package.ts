import { UsageError } from '../definition-file.js'

/** Loads a package that a clone has and an installation may lack. @throws UsageError that says what to install */
export async function optionalPackage<T>(load: () => Promise<T>, names: string): Promise<T> {
  try {
    return await load()
  } catch (error) {
    if (!(error instanceof Error && 'code' in error && ['ERR_MODULE_NOT_FOUND', 'MODULE_NOT_FOUND'].includes(String(error.code)))) throw error
    throw new UsageError(`"start" runs on ${names}, which is not installed here. Install it beside this package: npm install ${names}
Or install this package into a Node-RED you already have and import a flow from its examples.`)
  }
}
