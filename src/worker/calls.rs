//! Which system calls a worker may no longer make: a seccomp filter (seccomp(2)) over its whole life.
//! Owns the list; refuses to know files, photos or any other limit.
//!
//! A list of what is refused, not of what is allowed: a decoder, allocator or C library that asks
//! for something unforeseen gets its answer, so no update of one of them can break a photo. What
//! opens, names, sends, starts or inspects anything is refused with EPERM.

use std::collections::BTreeMap;

use libc::c_long;
use seccompiler::SeccompCmpArgLen::Dword;
use seccompiler::SeccompCmpOp::{MaskedEq, Ne};
use seccompiler::{
    BpfProgram, SeccompAction, SeccompCmpOp, SeccompCondition, SeccompFilter, SeccompRule,
    TargetArch, apply_filter,
};

/// Refused whatever the arguments are.
const REFUSED: &[c_long] = &[
    // Opening, making, naming and changing files.
    libc::SYS_openat,
    libc::SYS_openat2,
    libc::SYS_open_by_handle_at,
    libc::SYS_name_to_handle_at,
    libc::SYS_mknodat,
    libc::SYS_mkdirat,
    libc::SYS_unlinkat,
    libc::SYS_linkat,
    libc::SYS_symlinkat,
    libc::SYS_renameat2,
    libc::SYS_truncate,
    libc::SYS_fchmodat,
    libc::SYS_fchownat,
    libc::SYS_utimensat,
    libc::SYS_setxattr,
    libc::SYS_lsetxattr,
    libc::SYS_removexattr,
    libc::SYS_lremovexattr,
    libc::SYS_memfd_create,
    libc::SYS_inotify_init1,
    libc::SYS_fanotify_init,
    // The network, and every other way to another process.
    libc::SYS_socket,
    libc::SYS_socketpair,
    libc::SYS_connect,
    libc::SYS_bind,
    libc::SYS_listen,
    libc::SYS_accept,
    libc::SYS_accept4,
    libc::SYS_sendto,
    libc::SYS_sendmsg,
    libc::SYS_sendmmsg,
    libc::SYS_shmget,
    libc::SYS_shmat,
    libc::SYS_msgget,
    libc::SYS_semget,
    libc::SYS_mq_open,
    // Calls made through a ring would pass by this filter.
    libc::SYS_io_uring_setup,
    libc::SYS_io_uring_enter,
    libc::SYS_io_uring_register,
    // Other programs and processes.
    libc::SYS_execve,
    libc::SYS_execveat,
    libc::SYS_kill,
    libc::SYS_tkill,
    libc::SYS_ptrace,
    libc::SYS_process_vm_readv,
    libc::SYS_process_vm_writev,
    libc::SYS_pidfd_open,
    libc::SYS_pidfd_getfd,
    libc::SYS_pidfd_send_signal,
    libc::SYS_process_madvise,
    libc::SYS_setpriority,
    // The system itself.
    libc::SYS_mount,
    libc::SYS_umount2,
    libc::SYS_pivot_root,
    libc::SYS_chroot,
    libc::SYS_move_mount,
    libc::SYS_open_tree,
    libc::SYS_fsopen,
    libc::SYS_fspick,
    libc::SYS_mount_setattr,
    libc::SYS_setns,
    libc::SYS_unshare,
    libc::SYS_bpf,
    libc::SYS_perf_event_open,
    libc::SYS_userfaultfd,
    libc::SYS_add_key,
    libc::SYS_request_key,
    libc::SYS_keyctl,
    libc::SYS_init_module,
    libc::SYS_finit_module,
    libc::SYS_delete_module,
    libc::SYS_reboot,
    libc::SYS_swapon,
    libc::SYS_swapoff,
    libc::SYS_sethostname,
    libc::SYS_setdomainname,
    libc::SYS_settimeofday,
    libc::SYS_clock_settime,
    libc::SYS_acct,
    libc::SYS_quotactl,
    libc::SYS_syslog,
    libc::SYS_personality,
];

/// The same under the names that only the oldest architecture still has.
#[cfg(target_arch = "x86_64")]
const OLD: &[c_long] = &[
    libc::SYS_open,
    libc::SYS_creat,
    libc::SYS_mknod,
    libc::SYS_mkdir,
    libc::SYS_rmdir,
    libc::SYS_unlink,
    libc::SYS_link,
    libc::SYS_symlink,
    libc::SYS_rename,
    libc::SYS_renameat,
    libc::SYS_chmod,
    libc::SYS_chown,
    libc::SYS_lchown,
    libc::SYS_utime,
    libc::SYS_utimes,
    libc::SYS_futimesat,
    libc::SYS_inotify_init,
    libc::SYS_fork,
    libc::SYS_vfork,
];
#[cfg(not(target_arch = "x86_64"))]
const OLD: &[c_long] = &[];

/// Numbers from here on are calls of the x32 ABI, which a list of plain numbers does not see.
#[cfg(target_arch = "x86_64")]
const X32: u32 = 0x4000_0000;

/// Puts the filter on this thread and all that it starts; call it before there are others.
/// Returns whether it holds.
pub fn refuse() -> bool {
    let Ok(arch) = TargetArch::try_from(std::env::consts::ARCH) else {
        return false;
    };
    match programs(arch) {
        Ok(programs) => programs.iter().all(|p| apply_filter(p).is_ok()),
        Err(_) => false,
    }
}

fn programs(arch: TargetArch) -> Result<Vec<BpfProgram>, seccompiler::BackendError> {
    let when = |op: SeccompCmpOp, value: u64| -> Result<_, seccompiler::BackendError> {
        let first = SeccompCondition::new(0, Dword, op, value)?;
        Ok(vec![SeccompRule::new(vec![first])?])
    };
    let mut rules: BTreeMap<i64, Vec<SeccompRule>> = REFUSED
        .iter()
        .chain(OLD)
        .map(|call| (*call, Vec::new()))
        .collect();
    // A thread may be started, a process may not.
    let thread = libc::CLONE_THREAD as u64;
    rules.insert(libc::SYS_clone, when(MaskedEq(thread), 0)?);
    // abort() signals its own process; limits may be read, and only its own.
    let own = u64::from(std::process::id());
    rules.insert(libc::SYS_tgkill, when(Ne, own)?);
    rules.insert(libc::SYS_prlimit64, when(Ne, 0)?);
    let filter = |rules, errno: i32| -> Result<BpfProgram, seccompiler::BackendError> {
        let refuse = SeccompAction::Errno(errno as u32);
        SeccompFilter::new(rules, SeccompAction::Allow, refuse, arch)?.try_into()
    };
    // clone3 hides its flags in memory where no filter can look; told that it does not exist, the
    // C library starts its threads with clone.
    let clone3 = BTreeMap::from([(libc::SYS_clone3, Vec::new())]);
    Ok(vec![
        #[cfg(target_arch = "x86_64")]
        no_x32(),
        filter(rules, libc::EPERM)?,
        filter(clone3, libc::ENOSYS)?,
    ])
}

/// Load the call's number (offset 0 of seccomp_data); from `X32` on, EPERM; else allowed.
#[cfg(target_arch = "x86_64")]
fn no_x32() -> BpfProgram {
    let step = |code: u32, jt: u8, jf: u8, k: u32| seccompiler::sock_filter {
        code: code as u16,
        jt,
        jf,
        k,
    };
    vec![
        step(libc::BPF_LD | libc::BPF_W | libc::BPF_ABS, 0, 0, 0),
        step(libc::BPF_JMP | libc::BPF_JGE | libc::BPF_K, 0, 1, X32),
        step(
            libc::BPF_RET | libc::BPF_K,
            0,
            0,
            libc::SECCOMP_RET_ERRNO | libc::EPERM as u32,
        ),
        step(libc::BPF_RET | libc::BPF_K, 0, 0, libc::SECCOMP_RET_ALLOW),
    ]
}
