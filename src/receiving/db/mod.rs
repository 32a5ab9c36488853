//! SQL of suppliers, deliveries and their lines.

mod apply;
mod delivery;
mod origin;
mod supplier;

pub use delivery::{
    Delivery, Last, LineNow, Listed, Usual, checks, deliveries, delivery, last_like, lines_now, same_docket,
    usual_items,
};
pub use origin::{GoodsLot, Origin, Strength, goods_lots, last_strength, origin, origins, strength};
pub use supplier::{Supplier, SupplierLot, SupplierRow, lots_of, supplier, supplier_rows, suppliers};
