/** The part of `jstat` (which ships no types) that this folder uses: first guesses of quantiles, polished here. */
declare module 'jstat' {
  interface Inverse1 {
    inv(p: number, a: number): number
  }
  interface Inverse2 {
    inv(p: number, a: number, b: number): number
  }
  const jStat: {
    readonly normal: Inverse2
    readonly studentt: Inverse1
    readonly chisquare: Inverse1
    readonly centralF: Inverse2
  }
  export default jStat
}
