package adapter

import (
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids/vehicle"
)

// Car is what is known of the car: which ECUs answer, what each supports, and what may be relied on
// when they are asked through this adapter.
type Car struct {
	*settings
	address *Address
	profile *vehicle.Profile
	support reply.Support
	several bool // more than one ECU answered the first request
	idle    bool // the count digit changes nothing: neither replies nor the wait
}

// Support is which PIDs each ECU supports.
func (c *Car) Support() *reply.Support { return &c.support }

// Several reports whether more than one ECU answered the first request.
func (c *Car) Several() bool { return c.several }

// Mixed reports whether several ECUs answer and the adapter shows of none who it is.
func (c *Car) Mixed() bool { return c.can.Form == obd.FormBare && c.several && c.address.alone == "" }

// Hidden is the layout that replies would have with headers, where the adapter hides them.
func (c *Car) Hidden() obd.Form { return hiddenForm(&c.can) }

// CountIdle reports whether the count digit was seen to change nothing.
func (c *Car) CountIdle() bool { return c.idle }
