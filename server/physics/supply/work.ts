/** Work done so far, for the bench's profile and for tests that hold that nothing is solved twice. */
export const work = { cycles: 0, steps: 0, newton: 0, meshes: 0 };
