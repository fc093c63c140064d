//go:build !unix

package blob

// syncFolder does nothing: a folder can not be opened to be synced here.
func syncFolder(string) error { return nil }
