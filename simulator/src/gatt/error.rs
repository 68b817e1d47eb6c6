//! Errors of the attribute protocol.

use booster_profile::Characteristic;

/// Why a read, a write or a subscription was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AttError {
    /// There is no connection; connect first.
    #[error("not connected to the unit; connect first")]
    NotConnected,
    /// 0x02.
    #[error("{} can't be read", .0.short_name())]
    ReadNotPermitted(Characteristic),
    /// 0x03.
    #[error("{} can't be written", .0.short_name())]
    WriteNotPermitted(Characteristic),
    /// 0x05.
    #[error("{} needs an authenticated link; pair with the unit first", .0.short_name())]
    InsufficientAuthentication(Characteristic),
    /// 0x06.
    #[error("{} has no notifications", .0.short_name())]
    RequestNotSupported(Characteristic),
    /// 0x0F.
    #[error("{} needs an encrypted link; pair with the unit first", .0.short_name())]
    InsufficientEncryption(Characteristic),
    /// 0xFD.
    #[error("enable indications of {} before writing to it", .0.short_name())]
    ImproperlyConfigured(Characteristic),
    /// 0xFE.
    #[error("a procedure of {} is running; wait for its end or abort it", .0.short_name())]
    ProcedureInProgress(Characteristic),
}

impl AttError {
    /// The code that goes over the air; `None` where nothing does.
    pub const fn code(self) -> Option<u8> {
        match self {
            Self::NotConnected => None,
            Self::ReadNotPermitted(_) => Some(0x02),
            Self::WriteNotPermitted(_) => Some(0x03),
            Self::InsufficientAuthentication(_) => Some(0x05),
            Self::RequestNotSupported(_) => Some(0x06),
            Self::InsufficientEncryption(_) => Some(0x0F),
            Self::ImproperlyConfigured(_) => Some(0xFD),
            Self::ProcedureInProgress(_) => Some(0xFE),
        }
    }
}
