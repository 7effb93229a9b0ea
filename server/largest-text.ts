/**
 * A text of more characters than this is not checked by the hosts: no amplifier has a hundredth of it, and a wrong file must
 * not take minutes and all of the memory.
 */
export const largestText = 4 * 1024 * 1024;
