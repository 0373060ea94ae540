package pids

// ParseFreezeFrame reads a reply to service 02, service byte first (SAE J1979):
//
//	42 PID frame data… [PID frame data…]
//
// asked are the parameters of the request, as for Split. All parts must be of one frame. The
// error is a *DataError, ErrOther, or that of Split; no part is then given.
func ParseFreezeFrame(reply []byte, asked ...byte) ([]Part, error) {
	const what = "freeze frame"
	if len(reply) == 0 || reply[0] != 0x42 {
		return nil, NewDataError(what, 0, ErrOther)
	}
	parts, err := split(nil, reply, 1, 1, asked)
	if err != nil {
		return nil, err
	}
	at := 2 // the number of the first frame
	for _, p := range parts {
		if reply[at] != reply[2] {
			return nil, NewDataError(what, at, ErrOther)
		}
		at += len(p.Data) + 2
	}
	return parts, nil
}
