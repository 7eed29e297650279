/** The words of the roles, in the order of what they give. */
export const ROLES = ["reader", "technician", "lead", "administrator"] as const;
