package reply

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids/vehicle"
)

// ISO 15765-4: requests to single ECUs go out at these; no reply comes from there.
const lowestRequest, highestRequest = 0x7E0, 0x7E7

// addresses are those at which replies may come from below lowestReply.
type addresses struct {
	low     []uint32          // ids on 11 bits
	replies map[string]string // of a profile's modules: request address to reply address
}

// Expect has the replies of a further ECU taken for what they are: below the ids that every car
// may use, what looks like one is more often a damaged line.
func (d *Decoder) Expect(reply string) {
	id, err := strconv.ParseUint(reply, 16, 16)
	if low := &d.addresses.low; err == nil && len(reply) == 3 && !slices.Contains(*low, uint32(id)) {
		*low = append(*low, uint32(id))
	}
}

// listens expects replies from where the adapter is told to listen (AT CRA, AT CF).
func (d *Decoder) listens(command string) {
	for _, to := range []string{"ATCRA", "ATCF"} {
		if id, ok := strings.CutPrefix(command, to); ok {
			d.Expect(id)
		}
	}
}

// expects reports whether replies may come from an id on 11 bits.
func (d *Decoder) expects(id uint32) bool {
	if id >= lowestReply && (id < lowestRequest || id > highestRequest) || slices.Contains(d.addresses.low, id) {
		return true
	}
	return d.Profile != nil && slices.ContainsFunc(d.Profile.Parameters, func(p vehicle.Parameter) bool {
		return d.replyOf(p.Module) == fmt.Sprintf("%03X", id)
	})
}

// replyOf is the address a module replies with, by the profile or by the standard's rule.
func (d *Decoder) replyOf(module string) string {
	replies := &d.addresses.replies
	if name, ok := (*replies)[module]; ok {
		return name
	}
	name := obd.ReplyAddress(module)
	for _, m := range d.Profile.Modules {
		if strings.EqualFold(m.Request, module) && m.Reply != "" {
			name = strings.ToUpper(m.Reply)
		}
	}
	if *replies == nil {
		*replies = map[string]string{}
	}
	(*replies)[module] = name
	return name
}
