package link

// permissionAdvice says what to do; on Windows a port that is in use is refused too.
func permissionAdvice(string) string {
	return "Close other programs that may have the port open, or pull the adapter out and in again."
}
