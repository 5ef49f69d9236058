interface TopicNode<T> {
  readonly children: Map<string, TopicNode<T>>
  readonly values: Set<T>
  /** Values of filters that end here with "#". */
  readonly deepValues: Set<T>
}

/** Which values a topic concerns, by MQTT filters: "+" fills one level, "#" the rest, including none. */
export class TopicTree<T> {
  readonly #root: TopicNode<T> = newNode()

  add(filter: string, value: T): void {
    const levels = filter.split('/')
    const isDeep = levels.at(-1) === '#'
    let node = this.#root
    for (const level of isDeep ? levels.slice(0, -1) : levels) {
      let child = node.children.get(level)
      if (child === undefined) {
        child = newNode()
        node.children.set(level, child)
      }
      node = child
    }
    if (isDeep) node.deepValues.add(value)
    else node.values.add(value)
  }

  remove(filter: string, value: T): void {
    removeFrom(this.#root, filter.split('/'), value)
  }

  /** Each value once, however many of its filters fit. */
  match(topic: string): ReadonlySet<T> {
    const found = new Set<T>()
    collect(this.#root, topic.split('/'), 0, found)
    return found
  }
}

function newNode<T>(): TopicNode<T> {
  return { children: new Map(), values: new Set(), deepValues: new Set() }
}

function collect<T>(node: TopicNode<T>, levels: readonly string[], depth: number, found: Set<T>): void {
  // Topics of the broker itself ("$…") are not meant by a wildcard at the first level.
  const isWildcardOff = depth === 0 && levels[0]?.startsWith('$') === true
  if (!isWildcardOff) for (const value of node.deepValues) found.add(value)
  if (depth === levels.length) {
    for (const value of node.values) found.add(value)
    return
  }
  const exact = node.children.get(levels[depth] as string)
  if (exact !== undefined) collect(exact, levels, depth + 1, found)
  const any = isWildcardOff ? undefined : node.children.get('+')
  if (any !== undefined && any !== exact) collect(any, levels, depth + 1, found)
}

function removeFrom<T>(node: TopicNode<T>, levels: readonly string[], value: T): void {
  const [level, ...rest] = levels
  if (level === undefined) node.values.delete(value)
  else if (level === '#' && rest.length === 0) node.deepValues.delete(value)
  else {
    const child = node.children.get(level)
    if (child === undefined) return
    removeFrom(child, rest, value)
    if (child.children.size === 0 && child.values.size === 0 && child.deepValues.size === 0) node.children.delete(level)
  }
}
