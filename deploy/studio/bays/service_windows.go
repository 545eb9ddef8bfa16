package bays

import (
	"context"
	"errors"
	"fmt"
	"time"

	"golang.org/x/sys/windows"
	"golang.org/x/sys/windows/svc"
	"golang.org/x/sys/windows/svc/mgr"

	"fairlead/deploy/studio"
)

const serviceAccount = `NT AUTHORITY\LocalService`

// usual is the service manager, for who may speak to it.
func usual() string {
	if windows.GetCurrentProcessToken().IsElevated() {
		return Windows
	}
	return None
}

func serviceName(bay string) string { return "fairlead-collect-" + bay }

// install has the service manager keep the collector running.
func (j Join) install(ctx context.Context, kind string, c *studio.Config, bay string) error {
	if kind != Windows {
		return fmt.Errorf("there is no %s here", kind)
	}
	// The service's account reads the configuration and writes the data.
	for folder, right := range map[string]string{j.Dir: "R", j.Data: "M"} {
		if err := run(ctx, "icacls", folder, "/grant", "*S-1-5-19:(OI)(CI)"+right); err != nil {
			return err
		}
	}
	m, err := mgr.Connect()
	if err != nil {
		return fmt.Errorf("%w: run this as administrator", err)
	}
	defer m.Disconnect()
	s, err := m.OpenService(serviceName(bay))
	if err != nil {
		s, err = m.CreateService(serviceName(bay), j.Program, mgr.Config{StartType: mgr.StartAutomatic, ServiceStartName: serviceAccount,
			DisplayName: "Fairlead collector of bay " + bay, Description: "Keeps every shot of the bay and sends it to the studio's hub."},
			"collect", "--config", c.File(), "--bay", bay)
		if err != nil {
			return err
		}
	}
	defer s.Close()
	again := []mgr.RecoveryAction{{Type: mgr.ServiceRestart, Delay: time.Second}}
	if err := s.SetRecoveryActions(again, 3600); err != nil {
		return err
	}
	if err := s.SetRecoveryActionsOnNonCrashFailures(true); err != nil {
		return err
	}
	if err := s.Start(); err != nil && !errors.Is(err, windows.ERROR_SERVICE_ALREADY_RUNNING) {
		return err
	}
	fmt.Fprintf(j.Out, "the service %s runs, and starts with the machine\n", serviceName(bay))
	return nil
}

// AsService runs do as the service that this process was started as; false where
// a person started it.
func AsService(ctx context.Context, do func(context.Context) error) (bool, error) {
	is, err := svc.IsWindowsService()
	if err != nil || !is {
		return false, err
	}
	h := &handler{ctx: func() (context.Context, context.CancelFunc) { return context.WithCancel(ctx) }, do: do}
	if err := svc.Run("", h); err != nil {
		return true, err
	}
	return true, h.err
}

// handler answers the service manager.
type handler struct {
	ctx func() (context.Context, context.CancelFunc)
	do  func(context.Context) error
	err error
}

// Execute is svc.Handler.Execute: exit code 1 has the manager start it again.
func (h *handler) Execute(_ []string, asked <-chan svc.ChangeRequest, say chan<- svc.Status) (bool, uint32) {
	ctx, cancel := h.ctx()
	defer cancel()
	ended := make(chan error, 1)
	go func() { ended <- h.do(ctx) }()
	running := svc.Status{State: svc.Running, Accepts: svc.AcceptStop | svc.AcceptShutdown}
	say <- running
	for {
		select {
		case h.err = <-ended:
			say <- svc.Status{State: svc.StopPending}
			if h.err != nil {
				return true, 1
			}
			return false, 0
		case r := <-asked:
			switch r.Cmd {
			case svc.Interrogate:
				say <- r.CurrentStatus
			case svc.Stop, svc.Shutdown:
				say <- svc.Status{State: svc.StopPending}
				cancel()
			}
		}
	}
}
