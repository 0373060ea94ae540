package pids

import "slices"

// Part is the data of one PID within a reply.
type Part struct {
	PID  *PID
	Data []byte // within the reply; valid as long as it
}

// Split takes a reply of service $01 apart. reply is what follows the service byte $41:
//
//	PID data… PID data… (to the end, exactly)
//
// asked are the PIDs of the request. The ECU may answer them in any order and may leave some
// out. A PID without a fixed length must be the only one asked; the rest of the reply is then
// its data. Parts are appended to dst.
//
// The error is a *ReplyError; dst is then as it was.
func Split(dst []Part, reply []byte, asked ...byte) ([]Part, error) {
	return split(dst, reply, 0, 0, asked)
}

// split begins at byte at of the reply, and skips skip bytes between each PID and its data.
func split(dst []Part, reply []byte, at, skip int, asked []byte) ([]Part, error) {
	if len(reply) <= at {
		return dst, &ReplyError{Offset: len(reply), Err: ErrShort}
	}
	out := dst
	for at < len(reply) {
		p := Lookup(reply[at])
		if !slices.Contains(asked, p.ID) {
			return dst, &ReplyError{PID: p.ID, Offset: at, Err: ErrNotAsked}
		}
		for _, before := range out[len(dst):] {
			if before.PID == p {
				return dst, &ReplyError{PID: p.ID, Offset: at, Err: ErrTwice}
			}
		}
		data := at + 1 + skip
		end := data + p.MaxLen
		if !p.FixedLength() {
			if len(asked) > 1 {
				return dst, &ReplyError{PID: p.ID, Offset: at, Err: ErrNotAlone}
			}
			end = max(len(reply), data+max(p.MinLen, 1))
		}
		if end > len(reply) {
			return dst, &ReplyError{PID: p.ID, Offset: len(reply), Err: ErrShort}
		}
		out = append(out, Part{PID: p, Data: reply[data:end:end]})
		at = end
	}
	return out, nil
}
