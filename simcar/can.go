package simcar

// CAN identifiers of ISO 15765-4.
const (
	functional11 = 0x7DF
	functional29 = 0x18DB33F1
	physical29   = 0x18DA00F1 // target address in the second byte
	reply29      = 0x18DAF100 // source address in the last byte
)

// replyID is the id of an ECU's replies.
func (p *Place) replyID(extended bool) uint32 {
	if extended {
		return reply29 | uint32(p.Address)
	}
	return uint32(p.ReplyID)
}

// requestID is the id at which an ECU is asked alone.
func (p *Place) requestID(extended bool) uint32 {
	if extended {
		return physical29 | uint32(p.Address)<<8
	}
	if p.RequestID != 0 {
		return uint32(p.RequestID)
	}
	return uint32(p.ReplyID) - 8
}

// hears reports whether a request with this id is for the ECU, and whether for all ECUs.
func (p *Place) hears(id uint32, extended bool) (heard, functional bool) {
	if p.Module { // by its ids of this bus, if it has any
		there := p.RequestID != 0
		if extended {
			there = p.Address != 0
		}
		return there && id == p.requestID(extended), false
	}
	if extended {
		return id == functional29 || id == p.requestID(true), id == functional29
	}
	return id == functional11 || id == p.requestID(false), id == functional11
}

// hearsLegacy is hears for the older buses: the second header byte is the target.
func (p *Place) hearsLegacy(header uint32, kind busKind) (heard, functional bool) {
	if p.Module {
		return false, false
	}
	first, target := byte(header>>16), byte(header>>8)
	if kind == busKWP {
		functional = first&0xC0 == 0xC0 && target == 0x33
	} else {
		functional = target == 0x6A
	}
	return functional || target == p.Address, functional
}

// idFilter lets a CAN id through when it agrees with value in all bits of mask.
type idFilter struct{ value, mask uint32 }

func (f idFilter) passes(id uint32) bool { return id&f.mask == f.value&f.mask }

// replyFilter is the filter when none is set: the replies of ISO 15765-4.
func replyFilter(extended bool) idFilter {
	if extended {
		return idFilter{reply29, 0x1FFFFF00}
	}
	return idFilter{0x7E8, 0x7F8}
}

// requestID is the id that the chip puts on a request.
func (s *settings) requestID(row *protocolRow) uint32 {
	header := row.header
	if s.headerSet {
		header = s.header
	}
	if row.extended {
		return uint32(s.priority)<<24 | header&0xFFFFFF
	}
	return header & 0x7FF
}

// frame is the frame that the chip sends on a first frame with replyID, and its
// id; ok is false when it sends none: after AT CFC0, and for 11-bit replies outside 7E8…7EF
// unless an id is set or anywhere is true.
func (s *flowSettings) frame(replyID uint32, extended, anywhere bool) (id uint32, data []byte, ok bool) {
	legislated := extended || anywhere || replyFilter(false).passes(replyID)
	if !s.auto || s.mode != 1 && !legislated {
		return 0, nil, false
	}
	data = []byte{flowControl, 0x00, 0x00}
	if s.mode != 0 {
		data = s.data
	}
	switch {
	case s.mode == 1:
		id = s.header
	case extended: // target and source change places
		id = replyID&0xFFFF0000 | replyID&0xFF<<8 | replyID>>8&0xFF
	default:
		id = replyID - 8
	}
	return id, data, true
}
