package cli

import (
	"fmt"
	"math"
	"net"
	"strings"

	"github.com/alecthomas/kong"
)

// refuse says what is wrong with a flag's value that parses but makes no sense, in any command.
func refuse(path []*kong.Path) error {
	for _, p := range path {
		if p.Flag == nil {
			continue
		}
		if x, r := numberOf(p.Flag); r != nil && !(x >= r.from && x <= r.to) { // not a number is refused too
			return usageError(fmt.Sprintf("--%s %v: %s", p.Flag.Name, p.Flag.Target.Interface(), r.give))
		}
		var err error
		switch p.Flag.Name {
		case "port":
			err = refusePort(p.Flag.Target.String())
		case "switch":
			err = refuseSwitch(p.Flag.Target.String())
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// numberRange is what a number of a flag may be, and what to give.
type numberRange struct {
	from, to float64
	give     string
}

// numberRanges are the flags whose numbers have limits. A text flag may have the same name.
var numberRanges = map[string]*numberRange{
	"baud":     {1, math.MaxInt, "give the adapter's serial speed, such as 38400 or 115200, or leave --baud out to try the usual ones"},
	"event":    {1, math.MaxInt, "give a number from 1"},
	"for":      {1, math.MaxInt64, "give a time above zero, such as 45s or 20m"},
	"fps":      {1, 60, "give 1 to 60"},
	"odometer": {0, math.MaxFloat64, "give 0 or more"},
	"seed":     {0, math.MaxUint64, "give a whole number, 0 or more"},
	"speed":    {0, math.MaxFloat64, "give 0 or more"},
}

// numberOf is the number of a flag, and what it may be; nil where the flag holds no number or one
// without limits.
func numberOf(f *kong.Flag) (x float64, r *numberRange) {
	switch v := f.Target; {
	case v.CanInt():
		x = float64(v.Int())
	case v.CanUint():
		x = float64(v.Uint())
	case v.CanFloat():
		x = v.Float()
	default:
		return 0, nil
	}
	return x, numberRanges[f.Name]
}

// refusePort says how to write a network address that looks like the path of a serial port.
func refusePort(port string) error {
	host, scheme := port, false
	if rest, ok := strings.CutPrefix(strings.ToLower(port), "tcp:"); ok && !strings.HasPrefix(rest, "//") {
		host, scheme = strings.TrimLeft(rest, "/"), true
	}
	bare := net.ParseIP(strings.Trim(host, "[]"))
	switch {
	case bare != nil:
		return usageError(fmt.Sprintf("--port %s: write a network address as tcp://%s, with the port number from the adapter's papers", port, net.JoinHostPort(bare.String(), "PORT")))
	case scheme:
		return usageError(fmt.Sprintf("--port %s: write a network address as tcp://%s", port, host))
	}
	return nil
}
