package cli

import (
	"bytes"
	"context"
	"net"
	"strings"
	"testing"

	"github.com/judder-obd/judder/cli/remember"
	"github.com/judder-obd/judder/obd/elm"

	"github.com/judder-obd/judder/obd/link"
)

// inMemory is a port in memory; what is behind it is up to a test.
const inMemory = "tcp://in.memory:1"

// judderOn runs one command, in this process and in simulated time, with plug behind every port
// and typed on standard input. It is called within synctest.Test.
func judderOn(t *testing.T, plug func(context.Context) net.Conn, typed string, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	ctx, unplug := context.WithCancel(t.Context())
	defer unplug()
	open := func(port string) func(context.Context, int) (elm.Link, error) {
		return func(context.Context, int) (elm.Link, error) { return link.Over(plug(ctx), port), nil }
	}
	var out, errs bytes.Buffer
	code = run(ctx, computer{open: open, ports: noPorts, missing: link.Missing,
		loadRemembered: func() (s remember.Settings, err error) { return s, nil }, changeRemembered: func(func(*remember.Settings)) error { return nil }}, args, strings.NewReader(typed), &out, &errs)
	mustNotSteer(t, args, out.String(), errs.String())
	return code, out.String(), errs.String()
}

// farEnd gives one end of a connection in memory and has f speak at the other.
func farEnd(f func(net.Conn)) func(context.Context) net.Conn {
	return func(ctx context.Context) net.Conn {
		near, far := net.Pipe()
		context.AfterFunc(ctx, func() { _ = far.Close() })
		go f(far)
		return near
	}
}

// noPorts is a computer without a serial port.
func noPorts() ([]link.Port, error) { return nil, nil }
