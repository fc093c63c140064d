//go:build !unix

package sqldb

// syncFolder does nothing: a folder can not be opened to be synced here.
func syncFolder(string) error { return nil }
