/** A font as its bytes: the build puts them into the bundle. */
declare module '*.ttf' {
  const bytes: Uint8Array;
  export default bytes;
}
