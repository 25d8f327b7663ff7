import { handleAuthRequest } from "@/lib/services/sign-in";

export { handleAuthRequest as GET, handleAuthRequest as POST };
