package simcar

// changeBaud is AT BRD (ELM327 data sheet p.51): OK without a prompt at the old speed,
// the new speed, the version, and back to the old unless a CR comes in time.
func changeBaud(d *dialogue, arg string) (string, bool) {
	n := int(hexNumber(arg))
	if n == 0 {
		return "", false
	}
	d.say(answerOK)
	old := d.chip.baud
	if d.flush() != nil || d.hold(d.chip.baudWait) != nil {
		return answerNone, true
	}
	d.chip.baud = standardBaud(baudClock / n)
	d.pending = d.pending[:0]
	d.say(d.sim.profile.Version)
	if d.flush() != nil {
		return answerNone, true
	}
	if d.await(d.chip.baudWait) != nil {
		return answerNone, true
	}
	if len(d.pending) > 0 && d.pending[0] == '\r' {
		d.pending = d.pending[1:]
		return answerOK, true
	}
	d.pending, d.chip.baud = d.pending[:0], old
	return "", true
}

// standardBaud is the usual speed within 2.5 % of what a divisor gives, else that itself:
// 23h gives 114286 and stands for 115200, 11h 235294 for 230400 (ELM327 data sheet p.70).
func standardBaud(n int) int {
	for _, s := range []int{9600, 19200, 38400, 57600, 115200, 230400, 500000} {
		if diff := n - s; 40*diff <= s && -40*diff <= s {
			return s
		}
	}
	return n
}
